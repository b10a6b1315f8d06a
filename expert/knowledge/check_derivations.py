"""Checks of derived quantities: their inputs, kinds of plant, and that none rests on itself."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from expert.errors import Place, nearest
from expert.knowledge.model import Quantity, place_of
from expert.knowledge.reader import Reader
from expert.knowledge.refer import NAMES, refer
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import Kind


def check_derivation(
    quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader
) -> None:
    """Adds a problem for everything about a derived quantity that does not hold together."""
    if quantity.derivation is None:
        return
    formula = CATALOG[quantity.derivation.function]
    for name, source in quantity.derivation.inputs.items():
        wanted = formula.inputs.get(name)
        place = place_of(quantity, "inputs", name)
        for read in source.places:
            _check_input(quantity, name, read, wanted, quantities, place, reader)
    _check_kinds(quantity, quantities, reader)
    seen = {quantity.id}
    waiting = [place for source in quantity.derivation.inputs.values() for place in source.places]
    while waiting:
        name = waiting.pop()
        if name in seen and name == quantity.id:
            message = f"'{quantity.id}' is derived from itself."
            reader.problem("cycle", message, quantity.place)
            return
        seen.add(name)
        if (below := quantities.get(name)) and below.derivation:
            waiting.extend(
                read
                for source in below.derivation.inputs.values()
                for read in source.places
                if read not in seen or read == quantity.id
            )


def _check_kinds(quantity: Quantity, quantities: Mapping[str, Quantity], reader: Reader) -> None:
    """A kind of plant is told by a choice that can be read, in its own words."""
    for name, words in quantity.derivation.kinds.items() if quantity.derivation else ():
        place = partial(_at, place_of(quantity, "kinds", name))
        known = {each.id: each for each in quantities.values() if each.is_choice}
        refer((name,), known, "choice among the quantities called", place, reader)
        if name in known:
            refer(words, known[name].choices, f"choice of '{name}' called", place, reader)


def _at(place: Place, _: str) -> Place:
    return place


def _check_input(
    quantity: Quantity,
    name: str,
    read: str,
    wanted: Kind | None,
    quantities: Mapping[str, Quantity],
    place: Place,
    reader: Reader,
) -> None:
    """A quantity that an input is taken from is there, and of the kind that the formula wants."""
    if read not in quantities:
        hint = nearest(read, quantities) or NAMES
        reader.unknown("unknown-quantity", read, f"'{read}' is not a known quantity.", place, hint)
    elif wanted in (Kind.CHOICE, Kind.TEXT):
        message = f"'{name}' of {quantity.id} is a word; only numbers can be derived from."
        reader.problem("wrong-kind", message, place)
    elif wanted is not None and (found := quantities[read]).kind is not wanted:
        kinds = [each.value.replace("_", " ") for each in (wanted, found.kind)]
        message = f"'{name}' of {quantity.id} must be a {kinds[0]}; {found.id} is a {kinds[1]}."
        reader.problem("wrong-kind", message, place)
