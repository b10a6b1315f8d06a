"""From a checklist and the picture of a job to the list of steps that now apply.

The list is made anew from the top after every entry. A step's conditions are judged on what the
steps above it have given, so a later answer never moves an earlier step, and going back drops
what no longer applies and brings it back when it applies again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from expert.inference.model import Reading
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist, Phase, Step
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture
from expert.procedure.putting_back import settle

AS_FOUND, AS_LEFT = "as found", "as left"

Readings = tuple[Reading, ...]
Holds = Callable[[Condition, Readings, Readings | None], bool | None]


@dataclass
class _Walk:
    picture: Picture
    rulebase: Rulebase
    holds: Holds
    plan: list[Active] = field(default_factory=list)
    groups: dict[tuple[str, int], list[Reading]] = field(default_factory=dict)
    rounds: int = 0

    def add(
        self, key: str, step: Step, phase: Phase, round_: int, quantity: str = "", sample: int = 0
    ) -> Entry | None:
        entry = self.picture.closed.get(key)
        active = Active(key, step, phase, phase.stage, round_, sample, quantity, entry)
        self.plan.append(active)
        if reading := active.reading:
            self.groups.setdefault((active.stage, active.round), []).append(reading)
        return entry

    def phase(self, phase: Phase) -> None:
        if phase.repeat is None:
            self.steps(phase, "", self.rounds if phase.stage == AS_LEFT else 0)
            return
        wanted = phase.repeat.ask
        question = Step(phase.id, "observe", wanted, (wanted,))
        for n in range(1, phase.repeat.at_most + 1):
            asked = self.add(f"{phase.id}?{n}", question, phase, self.rounds, wanted)
            if asked is None or asked.data.get("value") != phase.repeat.answer:
                return
            self.rounds += 1
            self.steps(phase, f"@{n}", self.rounds)

    def steps(self, phase: Phase, suffix: str, round_: int) -> None:
        for step in phase.steps:
            if not self.applies(step, phase.stage, round_):
                continue
            key = f"{step.id}{suffix}"
            if step.type == "watch":
                self.watch(key, step, phase, round_)
            else:
                asks = step.type in ("ask", "observe", "time")
                self.add(key, step, phase, round_, step.quantities[0] if asks else "")

    def watch(self, watch_key: str, step: Step, phase: Phase, round_: int) -> None:
        ended, left_out = watch_key in self.picture.closed, False
        for sample in range(1, step.at_most + 1):
            until: Entry | None = None
            for quantity in (*step.quantities, *filter(None, (step.until,))):
                key = f"{watch_key}#{sample}.{quantity}"
                until = None
                if ended and self.picture.before(key) is None:
                    left_out = True
                else:
                    until = self.add(key, step, phase, round_, quantity, sample)
            if step.until and not self._goes_on(until, step.until):
                break
        if left_out:
            self.add(watch_key, step, phase, round_)

    def _goes_on(self, until: Entry | None, quantity: str) -> bool:
        first = next(iter(self.rulebase.quantities[quantity].choices), None)
        return until is not None and until.data.get("value") == first

    def applies(self, step: Step, stage: str, round_: int) -> bool:
        if any(self.judge(condition, stage, round_) for condition in step.unless):
            return False
        return all(self.judge(condition, stage, round_) for condition in step.when)

    def judge(self, condition: Condition, stage: str, round_: int) -> bool | None:
        """The newest stage and round in which the condition can be judged decides; never mixed."""
        found = self.group(AS_FOUND, 0)
        if stage == AS_LEFT:
            for n in range(round_, -1, -1):
                answer = self.holds(condition, self.group(AS_LEFT, n), found)
                if answer is not None:
                    return answer
        return self.holds(condition, found, None)

    def group(self, stage: str, round_: int) -> Readings:
        return tuple(self.groups.get((stage, round_), ()))


def make_plan(
    checklist: Checklist, rulebase: Rulebase, picture: Picture, holds: Holds
) -> tuple[Active, ...]:
    """Every step that now applies, in order, each with the entry that closes it.

    `holds` judges a condition on some readings and the site's values: true, false or unknown;
    it is also given the readings as found, None where those are judged.
    """
    walk = _Walk(picture, rulebase, holds)
    for phase in checklist.phases:
        walk.phase(phase)
    settled = settle(walk.plan, checklist, picture)
    numbers: dict[str, int] = {}
    for active in settled:
        numbers.setdefault(active.step_key, len(numbers) + 1)
    total = len(numbers)
    return tuple(active.numbered(numbers[active.step_key], total) for active in settled)
