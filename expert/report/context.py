"""What a report says, gathered from a job's entries; the template only lays it out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from expert.inference.evaluate import Evaluator
from expert.inference.model import Evaluation, Finding, Known, Reading, State
from expert.inference.sentences import band_text, first_up, limit_text, value_text
from expert.knowledge.conditions import quantities_in
from expert.knowledge.model import Limit, Rulebase
from expert.procedure.entries import Entry
from expert.procedure.picture import Adjustment, Picture, fold
from expert.procedure.plan import AS_FOUND, AS_LEFT
from expert.procedure.runner import Runner
from expert.units.kinds import Kind
from expert.units.measure import Measure, format_both, format_value

BOTH = "both"


class JobFacts(Protocol):
    """What a report needs to know of a job beside its entries."""

    @property
    def id(self) -> str:
        """Its id."""
        ...

    @property
    def site(self) -> str:
        """Name of the site."""
        ...

    @property
    def who(self) -> str:
        """Name of the technician."""
        ...

    @property
    def created(self) -> datetime:
        """When it was started."""
        ...

    @property
    def rulebase_hash(self) -> str:
        """Content hash of the rulebase it was started with."""
        ...


@dataclass(frozen=True)
class Line:
    """One reading or derived value as the report shows it."""

    title: str
    value: str
    state: str = ""
    limit: str = ""
    note: str = ""
    where: str = ""
    time: str = ""
    formula: str = ""


@dataclass(frozen=True)
class Change:
    """A quantity measured before and after."""

    title: str
    before: str
    before_state: str
    after: str
    after_state: str
    limit: str


@dataclass(frozen=True)
class Attention:
    """A finding that still needs somebody, and in what way it stands."""

    finding: Finding
    standing: str


@dataclass(frozen=True)
class Stage:
    """One round of readings with everything that follows from it."""

    title: str
    readings: tuple[Line, ...]
    series: tuple[Series, ...]
    derived: tuple[Line, ...]
    evaluation: Evaluation


@dataclass(frozen=True)
class Series:
    """A watch: one row of texts a sample, under titles."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class ReportContext:
    """Everything the template asks for. `zone` is the technician's by default."""

    def __init__(self, job: JobFacts, entries: Sequence[Entry], runner: Runner, evaluator: Evaluator):
        self.job = job
        self.runner = runner
        self.evaluator = evaluator
        self.rulebase: Rulebase = runner.rulebase
        self.subject = runner.subject
        self.checklist = runner.checklist
        self.picture: Picture = fold(entries)
        self.unfinished = runner.current(self.picture)
        self.signed_by = runner.signed_by(self.picture)
        readings = [r for r in runner.readings(self.picture) if "?" not in r.step]
        self.stages = tuple(
            self._stage(stage, round_, group) for stage, round_, group in _by_round(readings)
        )
        self.found = self.stages[0] if self.stages else None
        self.left = self.stages[-1] if len(self.stages) > 1 else None

    @property
    def altitude(self) -> str:
        """Of the site, in both unit systems."""
        us, si = (format_value(Kind.LENGTH, self.subject.altitude, s, digits=0) for s in ("us", "si"))
        return f"{us} ({si})"

    @property
    def ended(self) -> datetime | None:
        """Time of the last entry."""
        return self.picture.entries[-1].at if self.picture.entries else None

    @property
    def wrong(self) -> tuple[Finding, ...]:
        """What was found before any change."""
        return self.found.evaluation.findings if self.found else ()

    @property
    def adjustments(self) -> tuple[Adjustment, ...]:
        """What was changed."""
        return self.picture.adjustments

    @property
    def attention(self) -> tuple[Attention, ...]:
        """Findings that still stand, or that were not measured again."""
        if self.left is None:
            return tuple(Attention(finding, "as found; nothing measured again") for finding in self.wrong)
        after = {finding.cause.id for finding in self.left.evaluation.findings}
        open_ = [
            Attention(finding, "still shows after the change")
            for finding in self.left.evaluation.findings
        ]
        open_ += [
            Attention(finding, "not measured again, so not proven to be put right")
            for finding in self.wrong
            if finding.cause.id not in after and not self._measured_again(finding)
        ]
        return tuple(open_)

    @property
    def put_right(self) -> tuple[Finding, ...]:
        """Findings that were measured again and no longer show."""
        if self.left is None:
            return ()
        after = {finding.cause.id for finding in self.left.evaluation.findings}
        return tuple(
            f for f in self.wrong if f.cause.id not in after and self._measured_again(f)
        )

    def _measured_again(self, finding: Finding) -> bool:
        assert self.left is not None
        known = self.left.evaluation.known
        supporting = [quantities_in(c) for step in finding.evidence for c in step.rule.when]
        return any(any(name in known for name in names) for names in supporting) and all(
            any(name in known for name in names) for names in supporting if names
        )

    @property
    def changes(self) -> tuple[Change, ...]:
        """What was measured both before and after, readings and derived values."""
        if self.found is None or self.left is None:
            return ()
        before, after = self.found.evaluation, self.left.evaluation
        changes = []
        for name, known in after.known.items():
            if name not in before.known or not known.measured:
                continue
            limit = self.evaluator.limits.get(name)
            changes.append(
                Change(
                    first_up(known.quantity.title),
                    value_text(before.known[name].value, BOTH, plus_minus=False),
                    _word(before.states[name]),
                    value_text(known.value, BOTH, plus_minus=False),
                    _word(after.states[name]),
                    band_text(limit, known.quantity, BOTH) if limit else "",
                )
            )
        return tuple(changes)

    @property
    def watch_for(self) -> tuple[str, ...]:
        """What to keep an eye on: what may come back or follow, and values too close to call."""
        lines: dict[str, None] = {}
        for finding in self.put_right:
            lines[f"That '{finding.cause.title}' does not come back."] = None
        for item in self.attention:
            for effect in item.finding.cause.leads_to:
                title = self.rulebase.causes[effect].title
                lines[f"{title}: it can follow from '{item.finding.cause.title}'."] = None
        last = self.stages[-1].evaluation if self.stages else None
        for state in last.states.values() if last else ():
            if state.word == "too close to call" and last is not None:
                known = last.known[state.quantity]
                lines[f"{first_up(known.quantity.title)}: "
                      f"{value_text(known.value, BOTH)} is too close to a limit to call."] = None  # fmt: skip
        return tuple(lines)

    def caution_title(self, entry: Entry) -> str:
        """Title of the caution an entry acknowledges."""
        caution = self.rulebase.cautions.get(entry.text("caution"))
        return caution.title if caution else entry.text("caution")

    def step_title(self, key: str) -> str:
        """What a step is about, from its key."""
        step = self.checklist.step(key.partition("#")[0].partition("@")[0].partition("?")[0])
        if step is None:
            return key or "the job"
        titles = [self.rulebase.quantities[name].title for name in step.quantities[:1]]
        return titles[0] if titles else step.say or step.text or step.id

    def _stage(self, stage: str, round_: int, readings: tuple[Reading, ...]) -> Stage:
        evaluation = self.evaluator.evaluate(readings)
        title = "As found" if stage == AS_FOUND else f"As left, after change {round_}"
        lines = [self._reading(r, evaluation) for r in readings if "#" not in r.step]
        derived = [
            self._derived(known, evaluation)
            for known in evaluation.known.values()
            if known.derived and (known.measured or round_ == 0)
        ]
        return Stage(title, tuple(lines), self._series(readings), tuple(derived), evaluation)

    def _reading(self, reading: Reading, evaluation: Evaluation) -> Line:
        quantity = self.rulebase.quantities[reading.quantity]
        limit = self.evaluator.limits.get(reading.quantity)
        return Line(
            title=first_up(quantity.title),
            value=value_text(reading.value, BOTH),
            state=_word(evaluation.states[reading.quantity]) if limit else "",
            limit=limit_text(limit, quantity, BOTH) if limit else "",
            note=limit.note if limit else "",
            where=", ".join(filter(None, (quantity.where, quantity.instrument))),
            time=clock_time(reading.at),
        )

    def _derived(self, known: Known, evaluation: Evaluation) -> Line:
        limit: Limit | None = self.evaluator.limits.get(known.quantity.id)
        return Line(
            title=first_up(known.quantity.title),
            value=value_text(known.value, BOTH),
            state=_word(evaluation.states[known.quantity.id]) if limit else "",
            limit=limit_text(limit, known.quantity, BOTH) if limit else "",
            note=known.warning or (limit.note if limit else ""),
            formula=f"{known.formula}; from "
            + ", ".join(f"{taken.title} {_short(taken.value)}" for taken in known.inputs),
        )

    def _series(self, readings: Iterable[Reading]) -> tuple[Series, ...]:
        watches: dict[str, dict[str, dict[str, Reading]]] = {}
        for reading in readings:
            if "#" in reading.step:
                watch, _, rest = reading.step.partition("#")
                sample, _, quantity = rest.partition(".")
                watches.setdefault(watch, {}).setdefault(sample, {})[quantity] = reading
        return tuple(self._table(watch, samples) for watch, samples in watches.items())

    def _table(self, watch: str, samples: Mapping[str, Mapping[str, Reading]]) -> Series:
        names = list(dict.fromkeys(name for sample in samples.values() for name in sample))
        rows = []
        for sample in samples.values():
            first = next(iter(sample.values()))
            texts = [_short(sample[name].value) if name in sample else "" for name in names]
            rows.append((clock_time(first.at), *texts))
        heads = ("time", *(self._head(name) for name in names))
        return Series(self.step_title(watch), heads, tuple(rows))

    def _head(self, name: str) -> str:
        for quantity in self.rulebase.quantities.values():
            if name in (quantity.id, quantity.id.replace("_", "-")):
                return quantity.title
        return name


def clock_time(at: datetime | None) -> str:
    """Hours and minutes in the local zone."""
    return at.astimezone().strftime("%H:%M") if at else ""


def _short(value: Measure | str) -> str:
    return value if isinstance(value, str) else format_both(value)


def _word(state: State) -> str:
    if state.limit is None:
        return ""
    return f"cannot judge: {state.why}" if state.word == "cannot judge" else state.word


def _by_round(
    readings: Iterable[Reading],
) -> tuple[tuple[str, int, tuple[Reading, ...]], ...]:
    groups: dict[tuple[str, int], list[Reading]] = {}
    for reading in readings:
        key = (AS_LEFT, reading.round) if reading.stage == AS_LEFT else (AS_FOUND, 0)
        groups.setdefault(key, []).append(reading)
    ordered = sorted(groups, key=lambda key: (key[0] == AS_LEFT, key[1]))
    return tuple((stage, round_, tuple(groups[stage, round_])) for stage, round_ in ordered)
