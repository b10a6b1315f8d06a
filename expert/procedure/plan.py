"""From a checklist and the picture of a job to the list of steps that now apply.

The list is made anew from the top after every entry. A step's conditions are judged on what the
steps above it have given, so a later answer never moves an earlier step, and going back drops
what no longer applies and brings it back when it applies again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from expert.inference.model import Reading
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture
from expert.procedure.putting_back import settle

AS_FOUND, AS_LEFT = "as found", "as left"

Holds = Callable[[Condition, tuple[Reading, ...]], bool | None]


@dataclass
class _Walk:
    picture: Picture
    rulebase: Rulebase
    holds: Holds
    plan: list[Active] = field(default_factory=list)
    groups: dict[tuple[str, int], list[Reading]] = field(default_factory=dict)
    rounds: int = 0

    def add(self, active: Active) -> Entry | None:
        entry = self.picture.closed.get(active.key)
        self.plan.append(replace(active, entry=entry))
        if reading := self.plan[-1].reading:
            self.groups.setdefault((active.stage, active.round), []).append(reading)
        return entry

    def phase(self, phase: Phase) -> None:
        if phase.repeat is None:
            self.steps(phase, "", self.rounds if phase.stage == AS_LEFT else 0)
            return
        for n in range(1, phase.repeat.at_most + 1):
            question = Step(phase.id, "observe", phase.repeat.ask, (phase.repeat.ask,))
            asked = self.add(
                Active(
                    f"{phase.id}?{n}", question, phase, phase.stage, self.rounds,
                    quantity=phase.repeat.ask,
                )
            )  # fmt: skip
            if asked is None or asked.data.get("value") != phase.repeat.answer:
                return
            self.rounds += 1
            self.steps(phase, f"@{n}", self.rounds)

    def steps(self, phase: Phase, suffix: str, round_: int) -> None:
        for step in phase.steps:
            if not self.applies(step, phase.stage, round_):
                continue
            base = Active(f"{step.id}{suffix}", step, phase, phase.stage, round_)
            if step.type == "watch":
                self.watch(base)
            elif step.type in ("ask", "observe", "time"):
                self.add(replace(base, quantity=step.quantities[0]))
            else:
                self.add(base)

    def watch(self, base: Active) -> None:
        step, ended = base.step, base.key in self.picture.closed
        for sample in range(1, step.at_most + 1):
            until: Entry | None = None
            for quantity in (*step.quantities, *filter(None, (step.until,))):
                key = f"{base.key}#{sample}.{quantity}"
                until = None
                if not ended or key in self.picture.closed:
                    until = self.add(replace(base, key=key, sample=sample, quantity=quantity))
            if step.until and not self._goes_on(until, step.until):
                break
        if ended:
            self.add(base)

    def _goes_on(self, until: Entry | None, quantity: str) -> bool:
        first = next(iter(self.rulebase.quantities[quantity].choices), None)
        return until is not None and until.data.get("value") == first

    def applies(self, step: Step, stage: str, round_: int) -> bool:
        if step.type == "restore":  # whether there is something to put back is settled afterwards
            return True
        if any(self.judge(condition, stage, round_) for condition in step.unless):
            return False
        return all(self.judge(condition, stage, round_) for condition in step.when)

    def judge(self, condition: Condition, stage: str, round_: int) -> bool | None:
        """The newest stage and round in which the condition can be judged decides; never mixed."""
        stages = [(AS_LEFT, n) for n in range(round_, -1, -1)] if stage == AS_LEFT else []
        for group in [*stages, (AS_FOUND, 0)]:
            answer = self.holds(condition, tuple(self.groups.get(group, ())))
            if answer is not None:
                return answer
        return None


def make_plan(
    checklist: Checklist, rulebase: Rulebase, picture: Picture, holds: Holds
) -> tuple[Active, ...]:
    """Every step that now applies, in order, each with the entry that closes it.

    `holds` judges a condition on some readings and the site's values: true, false or unknown.
    """
    walk = _Walk(picture, rulebase, holds)
    for phase in checklist.phases:
        walk.phase(phase)
    settled = settle(walk.plan, checklist, picture)
    numbers: dict[str, int] = {}
    for active in settled:
        numbers.setdefault(active.step_key, len(numbers) + 1)
    total = len(numbers)
    return tuple(
        replace(active, number=numbers[active.step_key], total=total) for active in settled
    )
