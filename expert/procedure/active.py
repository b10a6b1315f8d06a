"""One thing that a checklist asks for now."""

from __future__ import annotations

import re
from dataclasses import dataclass

from expert.inference.model import Reading
from expert.procedure.checklist import Phase, Step
from expert.procedure.entries import Entry
from expert.procedure.picture import reading_of

_TURN = re.compile(r"[@?](\d+)$")


@dataclass(frozen=True)
class Active:
    """One thing that the checklist asks for now: a step, or one question of a watch or a loop.

    `key` is the step's id, with '@round' in a repeated phase, '#sample.quantity' in a watch, and
    'phase?round' for the question of a loop. `entry` is what closes it, None while it is open.
    `number` of `total` counts steps, a whole watch as one.
    """

    key: str
    step: Step
    phase: Phase
    stage: str
    round: int = 0
    sample: int = 0
    quantity: str = ""
    entry: Entry | None = None
    number: int = 0
    total: int = 0

    @property
    def closed(self) -> bool:
        """Whether it needs nothing more."""
        return self.entry is not None

    @property
    def step_key(self) -> str:
        """The key of the whole step, without the sample of a watch."""
        return self.key.partition("#")[0]

    @property
    def turn(self) -> int:
        """Which run of a repeated phase it belongs to, 0 outside of one."""
        match = _TURN.search(self.step_key)
        return int(match[1]) if match else 0

    @property
    def loop(self) -> bool:
        """Whether it asks for another round of its phase."""
        return "?" in self.key

    @property
    def reading(self) -> Reading | None:
        """What was answered, in the stage and round in which it now stands."""
        if self.entry is None or self.entry.kind != "answer":
            return None
        return reading_of(self.entry, self.stage, self.round)

    def numbered(self, number: int, total: int) -> Active:
        """The same with its place in the plan."""
        return Active(
            self.key, self.step, self.phase, self.stage, self.round, self.sample, self.quantity,
            self.entry, number, total,
        )  # fmt: skip
