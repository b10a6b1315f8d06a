"""Which quantities play which part in a report: read from reports/figures.yaml, not from Python."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from expert.errors import PackError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, read_yaml
from expert.places import shipped

_KEYS = ("beside_a_series", "cycle", "food", "refrigerant")
_PAIR = ("pressure", "temperature")
_BOOKS = ("moved", "figures")
LIQUID = "liquid"
PLACES = ("suction gas", "discharge gas", LIQUID)


@dataclass(frozen=True)
class Pair:
    """The quantities that tell a state of the refrigerant at one place."""

    pressure: str
    temperature: str


@dataclass(frozen=True)
class ReportRoles:
    """Ids of quantities by the part they play; `cycle` holds the pairs for each of PLACES."""

    beside_a_series: tuple[str, ...]
    cycle: dict[str, tuple[Pair, ...]]
    food: tuple[str, ...]
    refrigerant_moved: tuple[str, ...]
    refrigerant_figures: tuple[str, ...]


@cache
def report_roles() -> ReportRoles:
    """The roles of the shipped file. Raises PackError."""
    reader = Reader()
    root = reader.fields(
        read_yaml(shipped("reports") / "figures.yaml"), "the figures of a report", _KEYS, _KEYS
    )
    found = root.fields if root else {}
    cycle = reader.fields(found.get("cycle"), "cycle", PLACES, PLACES)
    books = reader.fields(found.get("refrigerant"), "refrigerant", _BOOKS, _BOOKS)
    made = ReportRoles(
        reader.texts(found.get("beside_a_series"), "beside_a_series"),
        {place: _pairs(reader, cycle, place) for place in PLACES},
        reader.texts(found.get("food"), "food"),
        *(reader.texts(books.fields[key] if books else None, key) for key in _BOOKS),
    )
    if reader.problems:
        raise PackError(reader.problems)
    return made


def _pairs(reader: Reader, cycle: Fields | None, place: str) -> tuple[Pair, ...]:
    node: Node | None = cycle.fields[place] if cycle else None
    pairs = (reader.fields(each, place, _PAIR, _PAIR) for each in reader.items(node, place))
    return tuple(
        Pair(*(reader.text(pair.fields[key], key) for key in _PAIR)) for pair in pairs if pair
    )
