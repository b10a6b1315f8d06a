"""The walk through a checklist that adds every step that now applies to a plan.

A step's conditions are judged on what the steps above it have given, so a later answer never moves
an earlier step, and going back drops what no longer applies and brings it back when it applies
again. `plan_again.py` begins such a walk anew after every entry.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from expert.inference.hangs_on import is_known
from expert.knowledge.model import Quantity
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Step
from expert.procedure.entries import BY_NAME, Entry, thing
from expert.procedure.kinds_first import kind_why, kinds_in, names_behind, step_of_its_own
from expert.procedure.looks import all_opened, closed, stood
from expert.procedure.plan_so_far import PlanSoFar
from expert.procedure.search import (
    MOST,
    asked_before,
    given_up,
    named_key,
    reading_key,
    reading_step,
)
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.world import Where


@dataclass
class Walk(PlanSoFar):
    """Goes through phases, rounds, members and calls, step by step."""

    def phase(self, where: Where) -> None:
        """A whole phase."""
        before = dict(self.refused)
        if where.phase.repeat is not None:
            self.rounds_of(where, where.phase.repeat.ask)
        elif where.phase.for_each:
            self.members(where)
        else:
            self.steps(where)
            return
        self.refused = before  # a no in one round or on one member says nothing of what follows

    def rounds_of(self, where: Where, wanted: str) -> None:
        """A phase that is repeated, with the question whether there is another round."""
        phase, repeat = where.phase, where.phase.repeat
        assert repeat is not None
        question = Step(phase.id, "observe", wanted, (wanted,))
        for n in range(1, repeat.at_most + 1):
            asked = self.add(f"{phase.id}?{n}", question, where, wanted)
            if asked is None or asked.data.get("value") != repeat.answer:
                return
            self.rounds += 1
            self.steps(replace(where, turn=f"@{n}"))

    def members(self, where: Where) -> None:
        """A phase that is run for each of the members that are chosen."""
        phase = where.phase
        offers = self.world.members_of(phase.for_each)
        question = Step(phase.id, "members", phase.for_each)
        asked = self.add(f"{phase.id}{where.turn}~", question, where, offers=offers)
        for name in offers:
            if asked is not None and name in asked.members:
                self.member(replace(where, subject=name))

    def member(self, where: Where) -> None:
        """The steps of one member; of one that was left out those that were answered before."""
        first, before = len(self.plan), dict(self.refused)
        self.steps(where)
        self.refused = before
        key = f"{where.phase.id}{where.suffix}"
        if self.look(closed, key) is not None:
            self.plan[first:] = self.begun_of(self.plan[first:])
            self.cautions = [each for each in self.plan if each.step.type == "caution"]
            self.add(key, Step(where.phase.id, "member", where.subject), where)

    def steps(self, where: Where) -> None:
        """The steps of a phase."""
        for step in where.phase.steps:
            self.step(step, where)

    def step(self, step: Step, where: Where) -> None:
        """A step with all that it brings, if it applies."""
        key = f"{step.id}{where.suffix}"
        if not self.applies(step, where) and not self.given(key, step, where):
            return
        if step.type == "watch":
            self.watch(key, step, where)
        elif step.type == SEARCH:
            self.search(key, step, where)
        elif step.called is not None:
            self.call(key, step, step.called, where)
        else:
            self.named_before(key, step, where)
            asks = step.type in ("ask", "observe", "time")
            self.add(key, step, where, step.quantities[0] if asks else "")

    def given(self, key: str, step: Step, where: Where) -> bool:
        """Whether a reading that is not asked now was given by its name; else it could be."""
        if step.type not in ("ask", "observe") or not self.world.fits(step, where.subject):
            return False
        entry: Entry | None = self.look(closed, key)
        if entry is not None and entry.data.get(BY_NAME):
            return True
        stage, round_ = self.stage(where)
        quantity = step.quantities[0]
        self.dormant.append(
            Active(
                key, step, where.phase, stage, round_, quantity=quantity, subject=where.subject,
                number=len(self.plan), left=self.refusal(step, where),
            )
        )  # fmt: skip
        return False

    def call(self, key: str, step: Step, called: Checklist, where: Where) -> None:
        """A called checklist in place, unless it is not for the subject."""
        not_for = self.world.why_not(called)
        entry = self.add(key, step, where, not_for=not_for)
        if not not_for and self.plan[-1].left is None and (entry is None or entry.kind != "skip"):
            before, ended = dict(self.refused), len(self.ended)
            for phase in called.phases:
                self.phase(Where(phase, self.stage(where)[0], where.turn))
            self.refused = before
            del self.ended[ended:]

    def watch(self, watch_key: str, step: Step, where: Where) -> None:
        """The samples of a watch, up to the first that is still to be taken."""
        ended, left_out = self.look(closed, watch_key) is not None, False
        goes_on = True
        for sample in range(1, step.at_most + 1):
            until: Entry | None = None
            short = sample > 1 and step.short and all(self.judge(c, where) for c in step.short)
            asks = {step.until, *(step.short_asks if short else step.quantities)}
            for quantity in (*step.quantities, *filter(None, (step.until,))):
                key = f"{watch_key}#{sample}.{quantity}"
                until = None
                before: Entry | None = self.look(stood, key)
                given = before is not None
                by_name = before is not None and bool(before.data.get(BY_NAME))
                wanted = goes_on and (given or quantity in asks)
                if not wanted and not by_name:
                    continue
                if ended and not given:
                    left_out = True
                else:
                    until = self.add(key, step, where, quantity, sample)
            if step.until and not self._goes_on(until, step.until):
                goes_on = False  # what was typed with a later time still counts
        if left_out:
            self.add(watch_key, step, where)

    def search(self, key: str, step: Step, where: Where) -> None:
        """The readings taken so far, then the one that tells the most, at last what came of it."""
        quantities, waits = self.world.rulebase.quantities, False
        kinds = kinds_in(step)
        self.told_of_plant(kinds, step, where)
        before: tuple[str, ...] = self.look(asked_before, reading_key(key, ""))
        begun = [name for name in before if name in quantities]
        left_alone: tuple[str, ...] = self.look(given_up, key)
        for name in begun:
            ahead, warned = len(self.plan), len(self.cautions)
            self.reading(reading_key(key, name), step, where, quantities[name])
            if name in left_alone:  # a caution that was not answered guards nothing further on
                self.plan[ahead:] = [e for e in self.plan[ahead:] if e.closed or e.left is not None]
                self.cautions[warned:] = [e for e in self.cautions[warned:] if e.closed]
                continue
            waits = waits or (not self.plan[-1].closed and self.plan[-1].left is None)
        if not waits and len(begun) < MOST and self.look(closed, key) is None:
            readings = self.group(*self.stage(where))
            above = (each.quantity for each in self.plan if each.quantity)
            foreign = [
                each for each in step.not_asked if all(self.judge(on, where) for on in each.when)
            ]
            skip = frozenset((*above, *self.refused_readings(step, where)))
            if next_one := self.world.wanted(readings, where.subject, skip, foreign):
                wanted, why = next_one.quantity, next_one.why
                if kind := self.kind_before(wanted, step, kinds, skip, where):
                    wanted, why = quantities[kind], kind_why(wanted)
                self.reading(reading_key(key, wanted.id), step, where, wanted, why)
        self.add(key, step, where)

    def told_of_plant(self, kinds: Iterable[str], step: Step, where: Where) -> None:
        """The kinds of plant that a job was told at steps of their own, before its search."""
        for name in kinds:
            own = step_of_its_own(step, self.world.rulebase.quantities[name])
            if self.look(stood, f"{own.id}{where.suffix}") is not None:
                self.add(f"{own.id}{where.suffix}", own, where, name)

    def kind_before(
        self, wanted: Quantity, step: Step, kinds: Iterable[str], skip: Collection[str],
        where: Where,
    ) -> str:  # fmt: skip
        """The kind of plant that is asked before a reading, since what it says hangs on that."""
        behind = self.world.kinds_behind(wanted.id)
        for name in kinds:
            if name in skip or self.judge(is_known(name), where):
                continue
            if name in behind or name in names_behind(wanted, step):
                return name
        return ""

    def reading(
        self, key: str, step: Step, where: Where, quantity: Quantity, why: str = ""
    ) -> None:
        """One reading of a search, or one that was named; its cautions unless given above."""
        asks = reading_step(step, quantity, why)
        for name in quantity.cautions:
            if not any(self.warned(each, name, where, frozenset()) for each in self.cautions):
                says = f"Before the next reading, {quantity.title}:"
                caution = Step(f"{step.id}.{name}", "caution", name, say=says)
                self.add(f"{caution.id}{where.suffix}", caution, where)
        self.add(key, asks, where, quantity.id)

    def named_before(self, key: str, step: Step, where: Where) -> None:
        """The readings that a person named at a step without being asked for them."""
        for name in self.look(asked_before, named_key(key, "")):
            if quantity := self.world.rulebase.quantities.get(name):
                self.reading(named_key(key, name), step, where, quantity)

    def _goes_on(self, until: Entry | None, quantity: str) -> bool:
        first = next(iter(self.world.rulebase.quantities[quantity].choices), None)
        return until is not None and until.data.get("value") == first

    def begun_of(self, steps: list[Active]) -> list[Active]:
        """What stays of a member that is left out: steps that were answered, what was opened on it
        and must be put back, and the cautions before any of these that is still open."""
        opened = {
            thing(entry.text("opened"), entry.text("subject"))
            for entry in self.look(all_opened, "").values()
        }
        kept: list[Active] = []
        for active in reversed(steps):
            answered = self.look(stood, active.key) is not None
            warns = active.step.type == "caution" and not all(each.closed for each in kept)
            if answered or warns or active.restores in opened:
                kept.append(active)
        return kept[::-1]
