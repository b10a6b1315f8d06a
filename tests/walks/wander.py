"""A person who does anything on any checklist, and what must hold whatever they do.

What is judged here goes by the entries and by conditions asked one by one, not by the plan: a
plan that loses a step that protects must not be its own judge.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random

from walked_job import NoLog

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.conditions import Condition
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Quantity, Rulebase
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.asked import asked
from expert.procedure.checklist import GO_ON, MEASURING, Checklist, Phase, Step
from expert.procedure.entries import Entry
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.units.kinds import Kind
from expert.units.measure import format_value

# SI values that a kind may well have, where the quantity itself has no edges.
USUAL = {
    Kind.TEMPERATURE: (250.0, 310.0),
    Kind.GAUGE_PRESSURE: (0.5e5, 20e5),
    Kind.ABSOLUTE_PRESSURE: (50.0, 1000.0),
    Kind.DURATION: (60.0, 7200.0),
}
ENDINGS = ("1: warm still", "2: a valve", "3: the night crew", "4: called off")
WORKS = ("answer", "done", "adjust", "clock")


@dataclass
class Wander:
    """One walk: a seed, a checklist on a subject, and what was found wrong on the way."""

    checklist: Checklist
    evaluator: Evaluator
    random: Random
    wrong: list[str] = field(default_factory=list)
    asked: int = 0

    def __post_init__(self) -> None:
        start = datetime(2026, 3, 14, 7, 0).astimezone()
        self.times = iter(start + timedelta(seconds=40 * n) for n in range(1_000_000))
        self.calm = self.random.choice([1.0, 1.0, 5.0])  # a calm person comes further
        self.session = self.begun(runner_for(self.checklist, self.evaluator), ())

    def begun(self, runner: Runner, entries: tuple[Entry, ...]) -> Session:
        return Session(runner, NoLog(), "job", entries, now=lambda: next(self.times))

    @property
    def rules(self) -> Rulebase:
        return self.evaluator.rulebase

    @property
    def where(self) -> str:
        return f"{self.checklist.id} on {self.evaluator.subject.id}"

    def walk(self, steps: int, *, revise_at: int = -1) -> None:
        """So many things done at random, perhaps a revision in between, then a way to the end."""
        for n in range(steps):
            if n == revise_at:
                self.revise()
            active = self.session.current
            if active is None:
                break
            self.asked += 1
            self.look(active)
            before = len(self.session.picture.entries)
            self.act(active)
            self.judge(self.session.picture.entries[before:], active)
        self.end()

    def act(self, active: Active) -> None:
        """One thing that a person may do."""
        chance = self.random.random() * self.calm
        try:
            if chance < 0.04:
                self.session.back()
            elif chance < 0.07:
                self.reopen()
            elif chance < 0.08:
                self.session.close(self.random.choice(ENDINGS))
            elif chance < 0.22:
                self.session.skip("cannot be done now", rest=self.random.random() < 0.3)
            elif chance < 0.30 and active.step.type == "caution":
                self.session.answer("no")
            else:
                self.answer(active)
        except ReadingError:
            self.answer(active, plainly=True)

    def reopen(self) -> None:
        plan = self.session.runner.plan(self.session.picture)
        closed = [each.key for each in plan if each.closed]
        if not closed:
            raise ReadingError("nothing to open again")
        self.session.reopen(self.random.choice(closed))

    def answer(self, active: Active, *, plainly: bool = False) -> None:
        if active.refused is not None:  # after a no at its caution only a reason is taken
            self.session.skip("it stays shut and tagged")
            return
        for text in self.texts(active, plainly):
            try:
                if isinstance(self.session.answer(text), NeedsConfirmation):
                    self.session.answer(text, sure=True)
            except ReadingError:
                continue
            return
        if active.step.type == "stop" or active.step.type in MEASURING:
            self.session.skip("cannot be read")
            return
        self.wrong.append(f"{self.where}: no answer is taken at {active.key}")

    def texts(self, active: Active, plainly: bool) -> Iterator[str]:
        """What might be typed at a step, likely answers first."""
        quantity = self.rules.quantities.get(active.quantity)
        kind = active.step.type
        if quantity is not None:
            yield from self.values(quantity)
        elif kind == "caution":
            yield "yes"
        elif kind == "adjust":
            yield "something; one turn; two turns"
        elif kind == "sign":
            yield "A. Sample"
        elif kind == "close":
            yield self.random.choice(ENDINGS)
        elif kind == "members":
            yield ", ".join(self.random.sample(active.offers, min(2, len(active.offers))))
        elif kind == "open":
            yield "2"
        elif kind != "stop" or plainly or self.random.random() < 0.5:
            yield ""

    def values(self, quantity: Quantity) -> Iterator[str]:
        if quantity.is_choice:
            yield self.random.choice([*quantity.choices])
            return
        if quantity.kind is Kind.TEXT:
            yield "a few words"
            return
        low, high = USUAL.get(quantity.kind, (0.0, 50.0))
        low = low if quantity.refuse_below is None else quantity.refuse_below
        high = max(low, high if quantity.refuse_above is None else quantity.refuse_above)
        for _ in range(12):
            value = self.random.uniform(low, high)
            yield format_value(quantity.kind, value)
        yield format_value(quantity.kind, (low + high) / 2)

    # -- what must hold ------------------------------------------------------------------------

    def judge(self, new: tuple[Entry, ...], active: Active) -> None:
        """Work that was done had its cautions answered with yes before, in their present words."""
        for entry in new:
            if entry.kind not in WORKS or entry.step != active.key or active.step.type == "restore":
                continue
            for name in self.needs(active.step):
                if not self.agreed(name, entry, active):
                    self.wrong.append(f"{self.where}: {entry.step} without the caution {name}")

    def needs(self, step: Step) -> set[str]:
        measured = {*step.quantities, step.until} if step.type in MEASURING else set()
        found = {
            name
            for each in measured
            if each in self.rules.quantities
            for name in self.rules.quantities[each].cautions
        }
        return found | {name for work in step.does for name in self.rules.cautions_for(work)}

    def agreed(self, name: str, entry: Entry, active: Active) -> bool:
        """Whether the last word on a caution above a step was yes, to the words it has now."""
        caution = Step("", "caution", name)
        wanted = asked(caution, "", self.rules)
        last: dict[str, Entry] = {}
        for each in self.session.picture.entries:
            if each.seq >= entry.seq:
                break
            if each.kind == "acknowledge" and each.text("caution") == name:
                last[each.step] = each
            elif each.kind == "reopen":
                last.pop(each.step, None)
        return any(
            each.data.get("answer") == "yes" and each.text("asked") == wanted
            for each in last.values()
        )

    def look(self, active: Active) -> None:
        """Nothing that protects is missing above the step that is asked, and no answer is one to
        something else."""
        plan = self.session.runner.plan(self.session.picture)
        above = plan[: [each.key for each in plan].index(active.key)]
        for each in plan:
            entry = each.entry
            if entry is not None and entry.text("asked") and each.step.type != "member":
                if entry.seq < self.session.picture.signed_at or each.key != entry.step:
                    continue
                if entry.text("asked") != asked(each.step, each.quantity, self.rules):
                    self.wrong.append(f"{self.where}: {each.key} inherits {entry.text('asked')}")
        if active.step.type in ("restore", "sign", "close", "caution", "open", "members", "member"):
            return
        phase = self.phase_of(active)
        if phase is None or active.loop:
            return
        suffix = active.step_key.removeprefix(active.step.id)
        keys = {each.key for each in plan}
        for step in phase.steps:
            if step.id == active.step.id:
                break
            protects = step.type in ("caution", "stop") or step.protects
            if protects and f"{step.id}{suffix}" not in keys:
                self.lost(step, active, above)
        for each in above:
            if each.step.type == "stop" and each.call == active.call:
                same = each.phase.id == active.phase.id and each.subject == active.subject
                if same and each.step.otherwise != GO_ON and each.turn == active.turn:
                    self.wrong.append(f"{self.where}: {active.key} behind the stop {each.key}")

    def phase_of(self, active: Active) -> Phase | None:
        checklist = self.session.runner.checklist
        return next((each for each in checklist.all_phases if each.id == active.phase.id), None)

    def lost(self, step: Step, active: Active, above: tuple[Active, ...]) -> None:
        """A step that protects is missing: it must be known that it is not needed."""
        runner = self.session.runner
        if not runner.fits(step, active.subject):
            return
        if any(self.known(each, active, above) for each in step.unless):
            return
        if step.type == "stop" and all(self.known(each, active, above) for each in step.passed):
            return
        self.wrong.append(f"{self.where}: {step.id} is lost before {active.key}")

    def known(self, condition: Condition, active: Active, above: tuple[Active, ...]) -> bool:
        """Whether a condition is known to be so by what stands above, in any stage it may take."""
        runner = self.session.runner
        readings = [each.reading for each in above if each.reading is not None]
        found = tuple(each for each in readings if each.stage == AS_FOUND)
        groups = [(found, None), (tuple(readings), found)]
        rounds = {each.round for each in readings if each.stage == AS_LEFT}
        for number in sorted(rounds, reverse=True):
            left = (each for each in readings if each.stage == AS_LEFT and each.round == number)
            groups.append((tuple(left), found))
        return any(runner.holds(condition, *group, active.subject) is True for group in groups)

    # -- another revision, and the end ---------------------------------------------------------

    def revise(self) -> None:
        """The job goes on with a revision in which other cautions and quantities stand at the
        ids; both belong to the same rulebase, but the words of one caution have changed."""
        rules = self.rules
        name = self.random.choice([*rules.cautions])
        caution: Caution = replace(rules.cautions[name], say=("Other words.",))
        changed = replace(rules, cautions={**rules.cautions, name: caution})
        self.checklist = self.revised(self.checklist)
        old = self.evaluator
        self.evaluator = Evaluator(changed, old.subject, members=old.members, backend="plain")
        runner = runner_for(self.checklist, self.evaluator, same=False)
        self.session = self.begun(runner, self.session.picture.entries)

    def revised(self, checklist: Checklist) -> Checklist:
        """A checklist whose asked quantities of one kind are each moved to the next one's id."""
        phases = []
        for phase in checklist.phases:
            asks = [s for s in phase.steps if s.type == "ask" and not (s.when or s.unless)]
            found = [self.rules.quantities[s.quantities[0]] for s in asks]
            kinds = [(each.kind, {*each.cautions}) for each in found]
            moved = {
                one.id: other
                for one, other, kind, next_ in zip(asks, asks[1:], kinds, kinds[1:], strict=False)
                if kind == next_ and self.random.random() < 0.5
            }
            steps = tuple(
                replace(s, text=moved[s.id].text, quantities=moved[s.id].quantities)
                if s.id in moved
                else s
                for s in phase.steps
            )
            phases.append(replace(phase, steps=steps))
        return replace(checklist, phases=tuple(phases))

    def end(self) -> None:
        """Every job can be closed: undone, by hand, from wherever it is."""
        if self.session.current is not None:
            self.session.close(self.random.choice(ENDINGS))
        for _ in range(150):
            active = self.session.current
            if active is None:
                break
            if active.step.type == "restore" and self.random.random() < 0.2:
                self.session.skip("it stays so for the night crew")
            elif active.step.type == "caution" and self.random.random() < 0.2:
                self.session.skip("not so")
            elif active.step.type in (*MEASURING, "stop"):
                self.session.skip("not read")
            else:
                self.answer(active, plainly=True)
        picture, runner = self.session.picture, self.session.runner
        if self.session.current is not None:
            self.wrong.append(f"{self.where}: stuck at {self.session.current.key}")
        elif not runner.signed_by(picture):
            self.wrong.append(f"{self.where}: nobody signed")
        elif picture.still_open and picture.closed_as is None:
            self.wrong.append(f"{self.where}: left open and said nothing: {picture.still_open}")
