"""What a pack says of itself, and what it leaves as it is on purpose."""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING

from expert.errors import Place
from expert.knowledge.conditions import NOWHERE
from expert.made_when_used import dataclass

if TYPE_CHECKING:
    from expert.knowledge.yaml_nodes import Node

SHIPPED = "rackwalk-base"  # the pack that came with the program


@dataclass(frozen=True)
class PackInfo:
    """Name, version and content hash of a rulebase, as printed in every report.

    `hash` covers what its entries say, wherever they stand, without their tests. `over` is the
    pack that it lies over; `hash` then covers the content of both.
    """

    name: str
    version: str
    title: str = ""
    description: str = ""
    hash: str = ""
    over: PackInfo | None = None

    def __str__(self) -> str:
        own = f"{self.name} {self.version} ({self.hash[:12]})"
        return f"{own} over {self.over}" if self.over else own


@dataclass(frozen=True)
class Explained:
    """Something left as it is on purpose, as coverage or the analysis names it, and why.

    `section` is 'coverage' or 'analysis', where it stands.
    """

    what: str
    why: str
    place: Place = NOWHERE
    section: str = "coverage"


@dataclass(frozen=True)
class StepChange:
    """A change in a checklist, with who decided it.

    `steps` are added behind (or, with `before`, above) the step `at`; without any, `at` itself is
    left out.
    """

    checklist: str
    at: str
    steps: tuple[Node, ...] = ()
    before: bool = False
    reason: str = ""
    author: str = ""
    date: str = ""
    place: Place = NOWHERE
    at_place: Place = field(default=NOWHERE, compare=False)
