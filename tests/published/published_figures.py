"""How the program does on published cases, with every printed reading and nothing else.

`python tests/published/published_figures.py` prints, for each file of cases, how often the right
cause comes first and among the first three, with the 95 % interval; what lies first where it does
not; and, on a line of its own, the cases with what was added to them. A tie for the first rank
counts as its share, and a tie for the third rank as out. A case for which `right` is empty must
find nothing. A case that says why it lies `outside` of what the program is for, and one of which
no reading stands off its record by more than it may be wrong, count like all others; behind them
stand the figures without these. FIGURES.md beside this keeps what it said.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import yaml

sys.path[:0] = [str(Path(__file__).parents[1])]

from plant.judge import wilson

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Finding
from expert.inference.subject_file import SubjectFile, subject_of
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.knowledge.yaml_nodes import parse_yaml
from expert.places import shipped
from expert.units.measure import Measure

FOLDER = Path(__file__).parent
FRAME = ("id", "what", "source", "right", "added", "outside")
ON_RECORD = "_above_record"  # readings against the record of the same machine
SAME = 0.005  # certainties nearer than this are shown alike


@dataclass(frozen=True)
class Published:
    """One published case; `given` is what a file of readings would hold, all as text."""

    id: str
    source: str
    right: frozenset[str]
    given: dict[str, object]
    added: dict[str, object] = field(default_factory=dict)
    outside: str = ""  # why it is none of the program's work


@dataclass(frozen=True)
class Ranked:
    """How a case came out: its share of the first rank, whether it is in three, what led."""

    id: str
    first: float
    in_three: bool
    found: bool
    led: tuple[str, ...]


def read_cases(path: Path) -> tuple[Published, ...]:
    """The cases of a file; words stay words, so that yes is not made true."""
    loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    listed = yaml.load(path.read_text(encoding="utf-8"), Loader=loader)
    return tuple(
        Published(
            each["id"],
            each["source"],
            frozenset(each["right"]),
            {name: value for name, value in each.items() if name not in FRAME},
            each.get("added", {}),
            each.get("outside", ""),
        )
        for each in listed
    )


def _file_of(case: Published, rulebase: Rulebase, *, added: bool = False) -> SubjectFile:
    """The case as a file of readings."""
    given = dict(case.given)
    if added:
        given["readings"] = {**dict(given["readings"]), **case.added}  # type: ignore[call-overload]
    return subject_of(parse_yaml(yaml.safe_dump(given), FOLDER), FOLDER, rulebase)


def findings_of(case: Published, rulebase: Rulebase, *, added: bool = False) -> tuple[Finding, ...]:
    """What is found on the printed readings, or on these and what was added."""
    file = _file_of(case, rulebase, added=added)
    return Evaluator(rulebase, file.subject, backend="plain").evaluate(file.readings).findings


def shows_nothing(case: Published, rulebase: Rulebase) -> bool:
    """Whether no reading stands off the machine's own record by more than it may be wrong.

    Only where such readings are printed; the plus/minus is that of the usual instrument.
    """
    against = [
        reading.value
        for reading in _file_of(case, rulebase).readings
        if reading.quantity.endswith(ON_RECORD) and isinstance(reading.value, Measure)
    ]
    return bool(against) and all(each.low <= 0 <= each.high for each in against)


def ranked(case: Published, findings: tuple[Finding, ...]) -> Ranked:
    """The rank of the right cause; its sentences stand on their own, effects are not counted."""
    best = findings[0].certainty if findings else 0.0
    top = [each.cause.id for each in findings if each.certainty > best - SAME]
    if findings:  # an effect never ties with a cause: it stands before or behind it
        alike = findings[0].cause.symptom
        top = [f.cause.id for f in findings if f.cause.id in top and f.cause.symptom == alike]
    sure = max((f.certainty for f in findings if f.cause.id in case.right), default=None)
    before = 0
    if sure is not None:
        others = [f for f in findings if f.cause.id not in case.right]
        before = sum(each.certainty > sure - SAME for each in others)
    return Ranked(
        case.id,
        len(case.right & set(top)) / max(len(top), 1),
        sure is not None and before < 3,
        bool(findings),
        tuple(top),
    )


def all_ranked(
    cases: Iterable[Published], rulebase: Rulebase, *, added: bool = False
) -> tuple[Ranked, ...]:
    """Every case that names a right cause."""
    return tuple(
        ranked(case, findings_of(case, rulebase, added=added)) for case in cases if case.right
    )


def _shares(name: str, told: tuple[Ranked, ...]) -> Iterator[str]:
    """How many come first and among the first three, with the 95 % interval."""
    first, three = sum(each.first for each in told), sum(each.in_three for each in told)
    for what, hits in (("first", first), ("in the first three", float(three))):
        low, high = wilson(round(hits), len(told))
        yield (
            f"{name}, right {what}: {hits:g} of {len(told)}, {100 * hits / len(told):.0f} % "
            f"({100 * low:.0f} to {100 * high:.0f} %)"
        )


def _apart(cases: Iterable[Published], rulebase: Rulebase) -> dict[str, str]:
    """Which cases count, but not in the second line, and why."""
    why = {case.id: "shown by no reading" for case in cases if shows_nothing(case, rulebase)}
    return why | {case.id: case.outside for case in cases if case.outside}


def lines(name: str, cases: tuple[Published, ...], rulebase: Rulebase) -> Iterator[str]:
    """The figures of one file."""
    told = all_ranked(cases, rulebase)
    yield from _shares(f"{name}, as printed", told)
    apart = _apart([case for case in cases if case.right], rulebase)
    if apart:
        yield from (f"  apart, {case}: {why}" for case, why in apart.items())
        yield from _shares("  without these", tuple(e for e in told if e.id not in apart))
    yield f"  nothing said: {sum(not each.found for each in told)}"
    for each in told:
        if each.first < 1:
            yield f"  {each.id}: {', '.join(each.led) or 'nothing'} ({each.first:.2f} of the first)"
    silent = [case for case in cases if not case.right]
    if silent:
        alarms = [case.id for case in silent if findings_of(case, rulebase)]
        yield (
            f"  healthy, or without a cause of ours, and told so: {len(silent) - len(alarms)} "
            f"of {len(silent)} {alarms or ''}"
        )
    more = [case for case in cases if case.added]
    if more:
        with_added = all_ranked(more, rulebase, added=True)
        yield f"  with what was added, apart: {sum(e.first for e in with_added):g} of {len(more)}"


def main() -> int:
    """Print the figures of every file, and of all files together."""
    rulebase = load_rulebase(shipped("rulebase"))
    every: list[Published] = []
    for path in sorted(FOLDER.glob("*.yaml"), reverse=True):
        cases = read_cases(path)
        every += cases
        for line in lines(path.stem, cases, rulebase):
            print(line)
    told = all_ranked(every, rulebase)
    apart = _apart([case for case in every if case.right], rulebase)
    for line in _shares("all files", told):
        print(line)
    for line in _shares(
        "all files without those apart", tuple(e for e in told if e.id not in apart)
    ):
        print(line)
    return 0


if __name__ == "__main__":
    sys.exit(main())
