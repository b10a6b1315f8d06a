"""The frozen model of a checklist."""

from __future__ import annotations

from dataclasses import dataclass, field

from expert.errors import Place
from expert.knowledge.conditions import Condition
from expert.knowledge.model import NOWHERE, Applies, Source

STEP_TYPES = (
    "caution", "instruct", "ask", "observe", "clock", "time", "watch", "show", "think", "adjust",
    "restore", "sign",
)  # fmt: skip


@dataclass(frozen=True)
class Step:
    """One step. `type` is one of STEP_TYPES; `subject` is what stands behind that key in YAML.

    `quantities`: of ask, observe, time (one), watch and show (several).
    """

    id: str
    type: str
    text: str
    quantities: tuple[str, ...] = ()
    say: str = ""
    why: str = ""
    how: str = ""
    clock: str = ""
    every: float = 0.0
    until: str = ""
    at_most: int = 1
    opens: str = ""
    when: tuple[Condition, ...] = ()
    unless: tuple[Condition, ...] = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class Repeat:
    """A phase that is run again while a choice is answered with `answer`, at most so often."""

    ask: str
    answer: str
    at_most: int


@dataclass(frozen=True)
class Phase:
    """Steps that belong together, in one stage ('as found' or 'as left')."""

    id: str
    title: str
    stage: str
    steps: tuple[Step, ...]
    repeat: Repeat | None = None
    place: Place = NOWHERE


@dataclass(frozen=True)
class Needs:
    """What must be at hand before the checklist starts."""

    tools: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    permission: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()
    time: str = ""


@dataclass(frozen=True)
class Checklist:
    """A procedure: phases of steps for one kind of subject."""

    id: str
    title: str
    revision: str
    purpose: str
    subject: str
    source: Source
    phases: tuple[Phase, ...]
    needs: Needs = field(default_factory=Needs)
    applies: Applies = field(default_factory=dict)
    hash: str = ""
    place: Place = NOWHERE

    def step(self, step_id: str) -> Step | None:
        """The step of an id, if there is one."""
        for phase in self.phases:
            for step in phase.steps:
                if step.id == step_id:
                    return step
        return None
