"""Reads the ways of reading, and says for each quantity which of them it can be taken in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.knowledge.how_read import HowTaken, WayOfReading, usual_way
from expert.knowledge.keys import WAY_OF_READING
from expert.knowledge.model import Quantity
from expert.knowledge.read_accuracies import read_spread
from expert.knowledge.read_rules import read_id
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node
from expert.made_when_used import altered
from expert.units.kinds import Kind


def read_way(node: Node, reader: Reader) -> WayOfReading | None:
    """A way of reading with its accuracy for each kind."""
    fields = reader.entry(node, WAY_OF_READING)
    if fields is None:
        return None
    got = fields.fields
    kinds = [kind.value for kind in Kind if kind not in (Kind.CHOICE, Kind.TEXT)]
    accuracy = got["accuracy"]
    by_kind = reader.fields(accuracy, "the accuracy of a way", kinds)
    if isinstance(accuracy, Fields) and not accuracy.fields:
        reader.problem("empty", "'accuracy' names no kind of number.", accuracy.place)
    return WayOfReading(
        id=read_id(got["id"], reader),
        title=reader.text(got["title"], "title"),
        source=reader.source(got["source"], "this way of reading"),
        also=reader.texts(got.get("also"), "also"),
        accuracy={
            Kind(name): spread
            for name, value in (by_kind.fields if by_kind else {}).items()
            if name in kinds and (spread := read_spread(value, Kind(name), reader)) is not None
        },
        in_place_of=reader.texts(got.get("in_place_of"), "in_place_of"),
        place=fields.place,
    )


def with_ways(
    quantities: Mapping[str, Quantity], ways: Mapping[str, WayOfReading], reader: Reader
) -> dict[str, Quantity]:
    """The quantities, each with the ways in which it can be taken."""
    for way in ways.values():
        for name in way.in_place_of:
            if name not in ways:
                message = f"'{name}' is no way of reading."
                reader.unknown("unknown-way", name, message, way.place)
    same: dict[object, tuple[HowTaken, ...]] = {}  # most are alike, and all are kept between runs
    return {name: _with(each, ways, same, reader) for name, each in quantities.items()}


def _with(
    quantity: Quantity,
    ways: Mapping[str, WayOfReading],
    same: dict[object, tuple[HowTaken, ...]],
    reader: Reader,
) -> Quantity:
    for name in quantity.accuracy_by:
        if name not in ways:
            message = f"'{name}' is no way of reading."
            place = quantity.places.get(f"accuracy_by.{name}", quantity.place)
            reader.unknown("unknown-way", name, message, place)
    if quantity.accuracy is None or quantity.derivation is not None:
        return quantity
    fitting = [each for each in ways.values() if quantity.kind in each.accuracy]
    usual = usual_way(quantity.instrument, fitting)
    key = quantity.kind, usual and usual.id, *quantity.accuracy_by.items()
    if key not in same:
        same[key] = tuple(_ways(quantity, usual, ways.values()))
    return altered(quantity, usual_way=usual, ways=same[key])


def _ways(
    quantity: Quantity, usual: WayOfReading | None, ways: Iterable[WayOfReading]
) -> Iterable[HowTaken]:
    for way in ways:
        spread = quantity.accuracy_by.get(way.id) or way.accuracy.get(quantity.kind)
        if way is usual:
            yield HowTaken(way, quantity.accuracy_by.get(way.id))
        elif spread is not None:
            yield HowTaken(way, spread)
