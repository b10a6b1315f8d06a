"""The site file: a store, its racks and circuits, with their design values and own limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Limit
from expert.knowledge.sheet_model import StoreSheetRow
from expert.made_when_used import dataclass
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.physics_errors import UnknownRefrigerant

if TYPE_CHECKING:
    from expert.knowledge.log_map import LogMap


@dataclass(frozen=True)
class SiteValue:
    """A value of the site file for a quantity: SI number or choice phrase, as typed beside it.

    With `set_in_job` a job has set it since, and `file` is what the site file says.
    """

    quantity: str
    value: float | str
    text: str
    file: str = ""
    set_in_job: bool = False

    @property
    def in_file(self) -> str:
        """What the site file says."""
        return self.file if self.set_in_job else self.text


def safety_class(name: str) -> str | None:
    """The ASHRAE 34 class of a refrigerant, None for one that is not known."""
    try:
        return refrigerant(name).safety_class
    except UnknownRefrigerant:
        return None


@dataclass(frozen=True)
class Subject:
    """A circuit or rack with everything it inherits: facts, values and limits (nearest wins).

    `facts` holds application, defrost, refrigerant, case_type, jurisdiction; `has` the devices
    fitted; altitude in metres; `part_of` the id of what it belongs to; `sheets` what is normal of a
    quantity by weather and state.
    """

    id: str
    title: str
    kind: str
    rack: str
    facts: Mapping[str, str]
    altitude: float = 0.0
    values: Mapping[str, SiteValue] = field(default_factory=dict)
    limits: tuple[Limit, ...] = ()
    has: tuple[str, ...] = ()
    part_of: str = ""
    sheets: Mapping[str, tuple[StoreSheetRow, ...]] = field(default_factory=dict)

    def fact(self, key: str) -> str | None:
        """A fact by its name, the safety class from the refrigerant; None where it is unknown.

        A store that names no jurisdiction is judged by that of the United States.
        """
        if key == "safety_class":
            return safety_class(self.facts.get("refrigerant", ""))
        return self.facts.get(key, JURISDICTIONS[0] if key == "jurisdiction" else None)


@dataclass(frozen=True)
class Site:
    """A store. `subjects` holds racks and circuits by id; `text` is the file as read.

    `log` says how a log of its values is read, where the file tells it.
    """

    name: str
    invented: bool
    subjects: Mapping[str, Subject]
    path: str = ""
    text: str = ""
    log: LogMap | None = None

    def members(self, subject: Subject) -> tuple[Subject, ...]:
        """The circuits, compressors and cases of a subject's rack, and of the groups on that."""
        racks = {subject.rack} | {
            each.id
            for each in self.subjects.values()
            if each.kind == "rack" and each.part_of == subject.rack
        }
        return tuple(
            each
            for each in self.subjects.values()
            if each.rack in racks and each.kind not in ("site", "rack")
        )

    def above(self, subject: Subject) -> tuple[str, ...]:
        """The ids of what a subject belongs to, the nearest first: of a suction group its rack."""
        found: list[str] = []
        at: Subject | None = subject
        while at is not None and (at := self.subjects.get(at.part_of)) is not None:
            found.append(at.id)
        return tuple(found)
