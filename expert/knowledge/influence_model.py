"""The frozen models of the states of the plant and of what moves what between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from expert.errors import Place
from expert.knowledge.conditions import NOWHERE, Condition
from expert.knowledge.source import Source
from expert.made_when_used import dataclass

DIRECTIONS = {"high": 1, "normal": 0, "low": -1}
WORDS = {sense: word for word, sense in DIRECTIONS.items()}


@dataclass(frozen=True)
class SeenIn:
    """One way to know a state of the plant: what makes it high, normal or low (any of each).

    `quantity` is set where it is a quantity's own state against its limit.
    """

    high: tuple[Condition, ...]
    normal: tuple[Condition, ...]
    low: tuple[Condition, ...]
    quantity: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class PlantState:
    """A state of the plant: one name for all ways in which it can be known.

    The first way of `seen_in` that is known decides; one that is too close to call leaves it open.
    """

    id: str
    title: str
    seen_in: tuple[SeenIn, ...]
    place: Place = NOWHERE
    said: Mapping[int, str] = field(default_factory=dict)  # 1, 0, -1 in words of their own

    def in_words(self, sense: int) -> str:
        """How it is said when it is high (1), normal (0) or low (-1)."""
        return self.said.get(sense) or f"{self.title} {WORDS[sense]}"


MODE = "circuit_mode"  # the quantity that holds what a circuit does now
NOBODY = "nothing"  # what it says where nobody complained
PLANT_KIND, PARALLEL = "plant_kind", "parallel rack"
COOLS, CASES = "what_it_cools", "cases and cold rooms"
COMPLAINT = "complaint"  # the quantity that holds with which words a call begins


@dataclass(frozen=True)
class Complaint:
    """What a store says: one choice of the quantity `complaint`, and what the call is then about.

    `words` are other ways to say it. `systems` are those it is mostly about, all where empty. A
    call without a complaint is about the same when the conditions of `or_when` are so.
    """

    id: str
    says: str
    subjects: tuple[str, ...] = ()
    systems: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    or_when: tuple[Condition, ...] = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class Influence:
    """What a rise of one state does to another: `sense` 1 raises it, -1 lowers it.

    `always` says that the other then shows it too; else it may stay hidden, behind a control or a
    reserve. It acts unless a condition of `when` is known to be false; `only_when` 1 or -1 lets it
    act only from a state that is high or low.
    """

    id: str
    source_state: str
    target: str
    sense: int
    because: str
    source: Source
    only_when: int = 0
    always: bool = False
    when: tuple[Condition, ...] = ()
    place: Place = NOWHERE
