"""The walk through a checklist that adds every step that now applies to a plan.

A step's conditions are judged on what the steps above it have given, so a later answer never moves
an earlier step, and going back drops what no longer applies and brings it back when it applies
again. `plan_again.py` begins such a walk anew after every entry.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field, replace
from typing import Any

from expert.inference.evaluation_model import Reading
from expert.knowledge.conditions import Condition
from expert.knowledge.hazard_model import LEAVES_ALL, LEAVES_OUT
from expert.knowledge.model import Quantity
from expert.made_when_used import dataclass
from expert.procedure.active import Active, call_of, inside
from expert.procedure.asked import answers, has_value
from expert.procedure.checklist import GO_ON, LEAVE_CHECKLIST, Checklist, Step
from expert.procedure.entries import BY_NAME, Entry, thing
from expert.procedure.left_out import ALWAYS, guards
from expert.procedure.looks import Look, Question, all_opened, closed, stood
from expert.procedure.picture import Picture
from expert.procedure.search import MOST, asked_before, named_key, reading_key, reading_step
from expert.procedure.search import TYPE as SEARCH
from expert.procedure.world import AS_FOUND, AS_LEFT, Readings, Where, World


@dataclass
class Walk:
    """What has been added to a plan so far, and all that bears on what comes after.

    `looked_at` is what was looked at in the picture since it was last emptied.
    """

    picture: Picture
    world: World
    plan: list[Active] = field(default_factory=list)
    cautions: list[Active] = field(default_factory=list)  # those of the plan
    groups: dict[tuple[str, int], list[Reading]] = field(default_factory=dict)
    told: dict[tuple[str, int], Readings] = field(default_factory=dict)
    rounds: int = 0
    adjusted: bool = False
    refused: dict[str, Entry] = field(default_factory=dict)
    ended: list[tuple[str, str, Entry]] = field(default_factory=list)
    asks_end: bool = False
    dormant: list[Active] = field(default_factory=list)
    looked_at: list[Look] = field(default_factory=list)

    def look(self, at: Question, key: str) -> Any:
        """What stands in the picture."""
        found = at(self.picture, key)
        self.looked_at.append((at, key, found))
        return found

    def stage(self, where: Where) -> tuple[str, int]:
        """Stage and round of a step; after an adjustment nothing is as found any more."""
        if self.adjusted or AS_LEFT in (where.phase.stage, where.calling):
            return AS_LEFT, self.rounds
        return AS_FOUND, 0

    def add(
        self, key: str, step: Step, where: Where, quantity: str = "", sample: int = 0,
        offers: tuple[str, ...] = (), not_for: str = "",
    ) -> Entry | None:  # fmt: skip
        """A step, behind the cautions of the plant; what closes it, None where it is left out."""
        left = self.left(step, where)
        if left is None or step.type == "restore":
            self.warn(step, where)
            left = self.left(step, where)
        entry = self.entry(key, step, quantity)
        stage, round_ = self.stage(where)
        shown = step.protects or step.type == "restore"  # also after a no
        rules = self.world.rulebase
        judged = entry is None or entry.kind != "answer" or has_value(entry, quantity, rules)
        active = Active(
            key, step, where.phase, stage, round_, sample, quantity, entry, where.subject, offers,
            not_for, left=left, refused=self.refusal(step, where) if shown else None,
            judged=judged,
        )  # fmt: skip
        self.plan.append(active)
        if step.type == "caution":
            self.cautions.append(active)
        self.adjusted = self.adjusted or (entry is not None and entry.kind == "adjust")
        if active.left is not None and step.type not in (*ALWAYS, "caution"):
            return None
        self.after_no(step, where, entry)
        if reading := active.reading:
            self.groups.setdefault((stage, round_), []).append(reading)
        return entry

    def warn(self, step: Step, where: Where) -> None:
        """The cautions of the plant before a step, unless they were given where it stands."""
        hazards = self.world.hazards(step, where.subject)
        if not hazards.names:
            return
        once = step.type != "restore"  # a no is asked once more before something is put back
        given = [e for e in self.cautions if once or e.entry is None or not e.entry.refuses]
        for name in hazards.names:
            if not any(self.warned(each, name, where, hazards.done) for each in given):
                caution = Step(f"{step.id}.{name}", "caution", name)
                self.add(f"{caution.id}{where.suffix}", caution, where)

    def warned(self, active: Active, name: str, where: Where, done: frozenset[str]) -> bool:
        """Whether a caution counts where a step stands: of work that is done, in its round."""
        if active.step.text != name:
            return False
        same = f"@{active.turn}" == where.turn and active.round == self.rounds
        outside = not active.turn and (not where.turn or name not in done)
        return active.subject in ("", where.subject) and (same or outside)

    def entry(self, key: str, step: Step, quantity: str) -> Entry | None:
        """What closes a step: an answer to what it asks now, or one that was signed for."""
        entry: Entry | None = self.look(closed, key)
        if entry is None or entry.seq < self.picture.signed_at:
            return entry
        fits = answers(entry, step, quantity, self.world.rulebase, same=self.world.same)
        return entry if fits else None

    def left(self, step: Step, where: Where) -> Entry | None:
        """The no because of which a step is left out: at a stop, or at a caution that guards it."""
        for scope, part, entry in self.ended:
            ended = f"{where.phase.id}{where.suffix}" == part
            paper = where.phase.signs and not self.guards(step, where.subject)
            if ended if part else inside(call_of(where.phase.id), scope) and not paper:
                return entry
        if step.type in (*ALWAYS, "caution", "stop") or step.protects:
            return None
        return self.refusal(step, where)

    def refusal(self, step: Step, where: Where) -> Entry | None:
        """The no at a caution of what a step does or reads; of putting back, at the plant's own."""
        if not self.refused:
            return None
        names = self.guards(step, where.subject)
        if step.type == "restore":
            names = frozenset(self.world.hazards(step, where.subject).names)
        found = names & {*self.refused}
        return self.refused[min(found)] if found else None

    def guards(self, step: Step, member: str) -> frozenset[str]:
        """Ids of the cautions without which a step is not done, those of the plant too."""
        hazards = self.world.hazards(step, member)
        return guards(step, self.world.rulebase) | {*hazards.names}

    def after_no(self, step: Step, where: Where, entry: Entry | None) -> None:
        """What follows from a no at a caution or at a stop; a later yes at the caution counts."""
        call = call_of(where.phase.id)
        if entry is None:
            return
        if step.type == "caution":
            self.refused.pop(step.text, None)
            if not entry.refuses:
                return
            self.refused[step.text] = entry
            leads_to = self.world.rulebase.cautions[step.text].if_no
            if leads_to == LEAVES_ALL:
                self.ended.append((call, "", entry))
            self.asks_end = self.asks_end or (leads_to != LEAVES_OUT and not call)
        elif step.type == "stop" and step.otherwise != GO_ON:
            whole = step.otherwise == LEAVE_CHECKLIST
            self.ended.append((call, "" if whole else f"{where.phase.id}{where.suffix}", entry))
            self.asks_end = self.asks_end or (whole and not call)

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
        before: tuple[str, ...] = self.look(asked_before, reading_key(key, ""))
        begun = [name for name in before if name in quantities]
        for name in begun:
            self.reading(reading_key(key, name), step, where, quantities[name])
            waits = waits or (not self.plan[-1].closed and self.plan[-1].left is None)
        if not waits and len(begun) < MOST and self.look(closed, key) is None:
            readings = self.group(*self.stage(where))
            above = (each.quantity for each in self.plan if each.quantity)
            foreign = [
                each for each in step.not_asked if all(self.judge(on, where) for on in each.when)
            ]
            skip = frozenset((*above, *self.refused_readings(step, where)))
            if next_one := self.world.wanted(readings, where.subject, skip, foreign):
                wanted = next_one.quantity
                self.reading(reading_key(key, wanted.id), step, where, wanted, next_one.why)
        self.add(key, step, where)

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

    def refused_readings(self, step: Step, where: Where) -> Iterator[str]:
        """The quantities that a no at a caution leaves out."""
        if not self.refused:
            return
        for quantity in self.world.rulebase.quantities.values():
            if self.guards(reading_step(step, quantity, ""), where.subject) & {*self.refused}:
                yield quantity.id

    def _goes_on(self, until: Entry | None, quantity: str) -> bool:
        first = next(iter(self.world.rulebase.quantities[quantity].choices), None)
        return until is not None and until.data.get("value") == first

    def applies(self, step: Step, where: Where) -> bool:
        """Whether a step is asked, by the plant and by its conditions."""
        if not self.world.fits(step, where.subject):
            return False
        if any(self.judge(condition, where) for condition in step.unless):
            return False
        if step.type == "stop" and all(self.judge(each, where) for each in step.passed):
            return False
        return all(self.judge(condition, where) for condition in step.when)

    def judge(self, condition: Condition, where: Where) -> bool | None:
        """The newest stage and round in which the condition can be judged decides; never mixed.

        A step meant as found that comes after an adjustment goes by the last reading of each.
        """
        stage, round_ = self.stage(where)
        found = self.group(AS_FOUND, 0)
        if stage == AS_LEFT and AS_LEFT not in (where.phase.stage, where.calling):
            latest = tuple(reading for group in self.groups.values() for reading in group)
            return self.world.holds(condition, latest, found, where.subject)
        if stage == AS_LEFT:
            for n in range(round_, -1, -1):
                left = self.group(AS_LEFT, n)
                answer = self.world.holds(condition, left, found, where.subject)
                if answer is not None:
                    return answer
        return self.world.holds(condition, found, None, where.subject)

    def group(self, stage: str, round_: int) -> Readings:
        """The same object until another reading comes, by which what was judged is found again."""
        kept = self.told.get((stage, round_), ())
        readings = self.groups.get((stage, round_), ())
        if len(kept) != len(readings):
            kept = self.told[stage, round_] = tuple(readings)
        return kept

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
