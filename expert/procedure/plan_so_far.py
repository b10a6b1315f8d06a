"""The steps of a plan as far as it has come: what holds there, and how one more is put on.

A step is judged by what stands above it: its stage and round, the cautions given before it, the
refusals that leave it out, and whether its conditions hold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import field
from typing import Any

from expert.inference.evaluation_model import Reading
from expert.knowledge.conditions import Condition
from expert.knowledge.hazard_model import LEAVES_ALL, LEAVES_OUT
from expert.made_when_used import dataclass
from expert.procedure.active import Active, call_of, inside
from expert.procedure.asked import answers, has_value
from expert.procedure.checklist import GO_ON, LEAVE_CHECKLIST, Step
from expert.procedure.entries import Entry
from expert.procedure.left_out import ALWAYS, guards
from expert.procedure.looks import Look, Question, closed
from expert.procedure.picture import Picture
from expert.procedure.search import reading_step
from expert.procedure.world import AS_FOUND, AS_LEFT, Readings, Where, World


@dataclass
class PlanSoFar:
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

    def refused_readings(self, step: Step, where: Where) -> Iterator[str]:
        """The quantities that a no at a caution leaves out."""
        if not self.refused:
            return
        for quantity in self.world.rulebase.quantities.values():
            if self.guards(reading_step(step, quantity, ""), where.subject) & {*self.refused}:
                yield quantity.id

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
