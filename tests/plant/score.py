"""How well the program diagnoses plants that know no rule.

`python tests/plant/score.py --seeds reported --per-fault 30` prints the figures. Rules are improved
against the development seeds only; the reported seeds are run to tell how it stands.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[1])]

from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase
from expert.places import shipped
from expert.plant.cases import Case, Wanted, every_fault, make_cases, two_faults
from expert.plant.design import PSI
from expert.units.kinds import Kind
from plant.judge import BANDS, CaseVerdict, PlantJudge, band_of, wilson

USED_UP = tuple(
    first + n
    for first in (90001, 90101, 90201, 90301, 90401, 90501, 90601, 90701, 90801)
    for n in range(3)
)
SEEDS = {"development": (11, 12, 13), "reported": (90901, 90902, 90903),
         "reported before": USED_UP}  # fmt: skip


@dataclass
class Tally:
    """Counts over verdicts of one kind."""

    judged: int = 0
    hidden: int = 0  # faults that no reading shows; left out of everything else
    first: int = 0
    tied: int = 0  # not first, and said not to be told apart from what leads
    in_three: int = 0
    found: int = 0
    numbers: int = 0
    wrong_likely: int = 0
    danger: int = 0
    guided_three: int = 0
    guided_six: int = 0
    confused: Counter[str] = field(default_factory=Counter)

    def add(self, verdict: CaseVerdict) -> None:
        if not verdict.case.visible:
            self.hidden += 1
            return
        self.judged += 1
        self.first += verdict.first
        self.tied += verdict.tied
        self.in_three += verdict.in_three
        self.found += verdict.found
        self.numbers += verdict.numbers_first
        self.wrong_likely += verdict.wrong_likely
        self.danger += bool(verdict.danger)
        extra = verdict.extra
        self.guided_three += extra is not None and extra <= 3
        self.guided_six += extra is not None and extra <= 6
        if not verdict.first:
            self.confused[verdict.leading or "nothing"] += 1


@dataclass
class Score:
    """Verdicts by fault and severity, and over plants in order."""

    by_fault: dict[str, Tally] = field(default_factory=dict)
    by_band: dict[str, Tally] = field(default_factory=dict)
    whole: Tally = field(default_factory=Tally)
    harder: Tally = field(default_factory=Tally)  # middle and gross together
    called: Tally = field(default_factory=Tally)  # of these, where somebody noticed something
    routine: Tally = field(default_factory=Tally)  # and where nobody did
    walked: Tally = field(default_factory=Tally)  # the same once the whole walk has been read
    called_by_rules: Tally = field(default_factory=Tally)  # where what rules find is to lead
    routine_by_rules: Tally = field(default_factory=Tally)
    healthy: int = 0
    alarms: int = 0
    likely_alarms: int = 0
    alarmed: Counter[str] = field(default_factory=Counter)
    dangers: list[str] = field(default_factory=list)

    def add(self, verdict: CaseVerdict) -> None:
        self.dangers += [f"{verdict.case.name}: {why}" for why in verdict.danger]
        if not verdict.case.faults:
            self.healthy += 1
            self.alarms += bool(verdict.leading)
            self.likely_alarms += verdict.wrong_likely
            if verdict.leading:
                self.alarmed[verdict.leading] += 1
            return
        band = band_of(verdict.case.severities)
        for tally in (
            self.by_fault.setdefault(_row(verdict.case), Tally()),
            self.by_band.setdefault(band, Tally()),
            self.whole,
            *(
                [self.harder, self.called if verdict.case.says else self.routine]
                if band != BANDS[0][0]
                else []
            ),
        ):
            tally.add(verdict)
        if band != BANDS[0][0]:
            by_rules = self.called_by_rules if verdict.case.says else self.routine_by_rules
            by_rules.add(replace(verdict, extra=verdict.by_rules))
        if band != BANDS[0][0] and not verdict.case.says:
            self.walked.add(replace(verdict, extra=verdict.after_walk))


def score(judge: PlantJudge, cases: Iterator[Case], *, guided: bool = True) -> Score:
    """All verdicts counted."""
    told = Score()
    for case in cases:
        told.add(judge.judge(case, guided=guided))
    return told


def lines(told: Score) -> Iterator[str]:
    """The figures as a table."""
    heads = (
        f"{'first':>17} {'tied':>5} {'three':>6} {'found':>6} {'no looks':>8} {'wrong>=likely':>13}"
    )
    yield f"{'':38}{'n':>5}{'hid':>4} {heads} {'+3':>5} {'+6':>5}"
    for name, tally in sorted(
        told.by_fault.items(), key=lambda item: _share(item[1].first, item[1])
    ):
        yield (
            _line(name, tally)
            + "  "
            + ", ".join(f"{cause} {times}" for cause, times in tally.confused.most_common(2))
        )
    for name, _, _ in BANDS:
        if name in told.by_band:
            yield _line(name, told.by_band[name])
    yield _line("middle and gross", told.harder)
    yield _line("  with a complaint", told.called)
    yield _line("    by rules alone", told.called_by_rules)
    yield _line("  on a routine visit", told.routine)
    yield _line("    by rules alone", told.routine_by_rules)
    yield _line("  the same after the whole walk", told.walked)
    yield _line("all faults", told.whole)
    low, high = wilson(told.alarms, told.healthy)
    yield f"plants in order: {told.healthy}, false alarms {told.alarms} ({low:.1%} to {high:.1%})"
    most = dict(told.alarmed.most_common(8))
    yield f"  of them likely or more {told.likely_alarms}: {most}"
    yield f"dangerous advice: {len(told.dangers)}"
    yield from (f"  {each}" for each in told.dangers[:20])


def _row(case: Case) -> str:
    return case.name if len(case.faults) == 1 else "two faults: either leads"


def _share(hits: int, tally: Tally) -> float:
    return hits / max(tally.judged, 1)


def _line(name: str, t: Tally) -> str:
    low, high = wilson(t.first, t.judged)
    return (
        f"{name:38}{t.judged:5}{t.hidden:4} {_share(t.first, t):5.0%} ({low:4.0%}-{high:4.0%}) "
        f"{_share(t.tied, t):5.0%} "
        f"{_share(t.in_three, t):6.0%} {_share(t.found, t):6.0%} {_share(t.numbers, t):8.0%} "
        f"{_share(t.wrong_likely, t):13.0%} {_share(t.guided_three, t):5.0%} "
        f"{_share(t.guided_six, t):5.0%}"
    )


def wishes(seed: int, per_fault: int, healthy: int, only: Sequence[str] = ()) -> list[Wanted]:
    """Every fault so often at severities drawn at random, and plants in order."""
    watched = [Wanted((), (), defrost=True)] * (healthy // 4)
    return [*every_fault(per_fault, seed, only=only), *[Wanted((), ())] * healthy, *watched]


def misread(case: Case, by: float, rulebase: Rulebase, rng: np.random.Generator) -> Case:
    """A case with one temperature or pressure, drawn at random, read wrong by so many F or psi."""
    steps = {Kind.TEMPERATURE: 5 / 9, Kind.GAUGE_PRESSURE: PSI}
    numbers = {
        name: steps[quantity.kind] for name, value in case.readings.items()
        if isinstance(value, float) and (quantity := rulebase.quantities.get(name))
        and quantity.kind in steps and not quantity.given
    }  # fmt: skip
    name = str(rng.choice(sorted(numbers)))
    value = case.readings[name]
    assert isinstance(value, float)
    wrong = value + float(rng.choice([-1, 1])) * by * numbers[name]
    return replace(case, readings={**case.readings, name: wrong})


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", choices=SEEDS, default="development")
    parser.add_argument("--per-fault", type=int, default=10, help="cases of each fault and seed")
    parser.add_argument("--healthy", type=int, default=100, help="plants in order for each seed")
    parser.add_argument("--pairs", type=int, default=0, help="plants with two faults, each seed")
    parser.add_argument("--only", nargs="*", default=(), help="these faults")
    parser.add_argument("--progress", action="store_true", help="the table so far, on stderr")
    parser.add_argument("--no-guided", action="store_true", help="leave the guided search out")
    parser.add_argument("--wrong", type=float, default=0, help="one number so many F or psi off")
    parser.add_argument("--rulebase", type=Path, default=shipped("rulebase"))
    options = parser.parse_args(arguments)
    judge = PlantJudge(load_rulebase(options.rulebase))
    started = time.perf_counter()
    told, done = Score(), 0
    for seed in SEEDS[options.seeds]:
        wanted = wishes(seed, options.per_fault, options.healthy, options.only)
        wanted += two_faults(options.pairs, seed)
        rng = np.random.default_rng(seed)
        for case in make_cases(seed, wanted):
            if options.wrong:
                case = misread(case, options.wrong, judge.rulebase, rng)
            told.add(judge.judge(case, guided=not options.no_guided))
            done += 1
            if options.progress and done % 50 == 0:
                print(*lines(told), f"so far {done}", sep="\n", file=sys.stderr, flush=True)
    for line in lines(told):
        print(line)
    print(f"{time.perf_counter() - started:.0f} s, {options.seeds} seeds {SEEDS[options.seeds]}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
