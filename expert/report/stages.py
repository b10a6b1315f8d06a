"""One stage of readings on one subject, as lines of a report."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from expert.inference.evaluation_model import Evaluation, Finding, Known, Missing, Reading, State
from expert.inference.sentences import first_up, limit_text, value_text
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.procedure.active import id_of
from expert.procedure.checklist import Checklist
from expert.procedure.closing import STEP as CLOSING
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.world import AS_FOUND
from expert.units.measure import Measure

BOTH = "both"
_LONG = 64  # characters: a longer instruction is told by its beginning


@dataclass(frozen=True)
class ShownValue:
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
class Series:
    """A watch: one row of texts a sample, under titles."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Stage:
    """One round of readings on a subject with everything that follows from it.

    `left` says that it is as left. `findings` and `cannot_judge` of a member are those beyond what
    the job's own subject shows. `not_asked` are titles of computed values that need a reading
    this checklist never asks for. `measured` are the readings themselves, samples included.
    """

    title: str
    left: bool
    readings: tuple[ShownValue, ...]
    series: tuple[Series, ...]
    derived: tuple[ShownValue, ...]
    evaluation: Evaluation
    findings: tuple[Finding, ...]
    cannot_judge: tuple[Missing, ...]
    not_asked: tuple[str, ...]
    measured: tuple[Reading, ...]

    def read_here(self, known: Known) -> bool:
        """Whether a value rests on a reading taken on this very subject."""
        return any(reading in self.measured for reading in known.readings)


@dataclass(frozen=True)
class StageWriter:
    """Writes the stages of one subject; `subject` is a member's id, '' for the job's own.

    `system` is 'us', 'si' or 'both'.
    """

    checklist: Checklist
    rulebase: Rulebase
    limits: Mapping[str, Limit]
    subject: str
    system: str = BOTH

    def stage(
        self,
        stage: str,
        round_: int,
        readings: Iterable[Reading],
        evaluation: Evaluation,
        whole: Evaluation | None = None,
    ) -> Stage:
        """The stage from what was read in it; `whole` is what the subject of the job shows, given
        for a member."""
        own = [reading for reading in readings if reading.subject == self.subject]
        derived = [
            self._derived(known, evaluation)
            for known in evaluation.known.values()
            if known.derived and self._shown(known, round_)
        ]
        missing = [
            each
            for each in evaluation.cannot_judge
            if whole is None or each not in whole.cannot_judge
        ]
        return Stage(
            "As found" if stage == AS_FOUND else f"As left, after change {round_}",
            stage != AS_FOUND,
            tuple(self._reading(r, evaluation) for r in own if "#" not in r.step),
            self._series(own),
            tuple(derived),
            evaluation,
            evaluation.beyond(whole) if whole else evaluation.findings,
            tuple(each for each in missing if self._asked(each)),
            tuple(each.what for each in missing if not self._asked(each)),
            tuple(own),
        )

    def _asked(self, missing: Missing) -> bool:
        """Whether this checklist could have known it: it asks for it, or for all it needs."""
        asked = {
            name
            for phase in self.checklist.all_phases
            for step in phase.steps
            for name in (*step.quantities, step.until)
        }
        quantity = self.rulebase.quantities.get(missing.quantity)
        if quantity is None or quantity.id in asked or quantity.derivation is None:
            return True
        return all(each.quantity in asked for each in quantity.derivation.inputs.values())

    def _shown(self, known: Known, round_: int) -> bool:
        """Whether a computed value belongs here: of a member, only with a reading on it."""
        if self.subject:
            return any(reading.subject == self.subject for reading in known.readings)
        return known.measured or round_ == 0

    def _reading(self, reading: Reading, evaluation: Evaluation) -> ShownValue:
        quantity = self.rulebase.quantities[reading.quantity]
        limit = self.limits.get(reading.quantity)
        return ShownValue(
            title=first_up(quantity.title),
            value=value_text(reading.value, self.system),
            state=word_of(evaluation.states[reading.quantity]) if limit else "",
            limit=limit_text(limit, quantity, self.system) if limit else "",
            note=limit.note if limit else "",
            where=", ".join(filter(None, (quantity.where, self._with(reading, quantity)))),
            time=clock_time(reading.at),
        )

    def _with(self, reading: Reading, quantity: Quantity) -> str:
        """How a value was read: as was said then, else with what it is usually read."""
        way = self.rulebase.ways.get(reading.way)
        return (
            f"read by {way.title if way else reading.way}" if reading.way else quantity.instrument
        )

    def _derived(self, known: Known, evaluation: Evaluation) -> ShownValue:
        limit = self.limits.get(known.quantity.id)
        return ShownValue(
            title=first_up(known.quantity.title),
            value=value_text(known.value, self.system),
            state=word_of(evaluation.states[known.quantity.id]) if limit else "",
            limit=limit_text(limit, known.quantity, self.system) if limit else "",
            note=known.warning or (limit.note if limit else ""),
            formula=f"{known.formula}; from "
            + ", ".join(f"{taken.title} {self._short(taken.value)}" for taken in known.inputs),
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
            texts = [self._short(sample[name].value) if name in sample else "" for name in names]
            rows.append((clock_time(first.at), *texts))
        heads = ("time", *(self.rulebase.quantities[name].title for name in names))
        return Series(step_title(watch, self.checklist, self.rulebase), heads, tuple(rows))

    def _short(self, value: Measure | str) -> str:
        return value_text(value, self.system, plus_minus=False)


def step_title(key: str, checklist: Checklist, rulebase: Rulebase) -> str:
    """What a step is about, from its key."""
    if key == CLOSING.id:
        return CLOSING.text
    step = checklist.step(id_of(key))
    if step is not None and step.type == SEARCH and (read := key.rpartition("!")[2]) != key:
        return rulebase.quantities[read].title if read in rulebase.quantities else read
    if step is None:
        if hazard := rulebase.cautions.get(id_of(key).rpartition(".")[2]):
            return hazard.title
        if asked := rulebase.quantities.get(id_of(key).replace("-", "_")):
            return asked.title  # a step of an earlier revision
        phases = [phase for phase in checklist.all_phases if phase.id == id_of(key)]
        return phases[0].title if phases else key or "the job"
    if step.type == "caution" and step.text in rulebase.cautions:
        return f"caution {rulebase.cautions[step.text].title}"
    titles = [rulebase.quantities[name].title for name in step.quantities[:1]]
    named = titles or ([step.called.title] if step.called else [])
    return named[0] if named else _beginning(step.say or step.text or step.id)


def _beginning(text: str) -> str:
    """The first words of a long text."""
    return text if len(text) <= _LONG else text[:_LONG].rpartition(" ")[0].rstrip(",;:") + " ..."


def word_of(state: State) -> str:
    """The state in a word; empty where there is no limit."""
    if state.limit is None:
        return ""
    return f"cannot judge: {state.why}" if state.word == "cannot judge" else state.word


def clock_time(at: datetime | None) -> str:
    """Hours and minutes in the local zone."""
    return at.astimezone().strftime("%H:%M") if at else ""
