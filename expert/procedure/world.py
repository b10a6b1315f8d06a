"""What a plan needs to know: the subject and the rules, and where in a checklist a step stands."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from expert.inference.evaluation_model import NextReading, Reading
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass
from expert.procedure.active import member_suffix
from expert.procedure.checklist import Checklist, Foreign, Phase, Step
from expert.procedure.hazards import Hazards
from expert.procedure.history import History

AS_FOUND, AS_LEFT = "as found", "as left"

Readings = tuple[Reading, ...]


class World(Protocol):
    """What a plan needs to know of the subject and the rules."""

    rulebase: Rulebase
    history: History
    same: bool
    """Whether checklist and rulebase are those the job was begun with."""

    def holds(
        self, condition: Condition, readings: Readings, found: Readings | None, subject: str
    ) -> bool | None:
        """A condition on readings and the site's values, as a member (or '') sees them.

        `found` are the readings as found, None where those are judged.
        """
        ...

    def members_of(self, kind: str) -> tuple[str, ...]:
        """The ids of the circuits, compressors or cases, in the order of the site."""
        ...

    def why_not(self, checklist: Checklist) -> str:
        """Why a checklist is not for the subject; nothing where it is."""
        ...

    def wanted(
        self, readings: Readings, subject: str, skip: frozenset[str], foreign: Sequence[Foreign]
    ) -> NextReading | None:
        """The reading that a search asks next, none of `skip` and none that is foreign to the
        plant; None when enough is known."""
        ...

    def kinds_behind(self, quantity: str) -> tuple[str, ...]:
        """The kinds of plant without which what is computed from a reading stays unknown."""
        ...

    def fits(self, step: Step, member: str) -> bool:
        """Whether a step is not known to be for another kind of plant than a member's."""
        ...

    def hazards(self, step: Step, member: str) -> Hazards:
        """The cautions that the plant asks for before a step, whoever wrote it."""
        ...


@dataclass(frozen=True)
class Where:
    """A phase, the stage of the step that called it, and what its keys carry."""

    phase: Phase
    calling: str = AS_FOUND
    turn: str = ""
    subject: str = ""

    @property
    def suffix(self) -> str:
        """What the keys of steps here end with."""
        return f"{self.turn}{member_suffix(self.subject)}"
