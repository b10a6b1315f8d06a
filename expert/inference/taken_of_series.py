"""What a derivation takes of the readings of a quantity: the first, last, lowest or highest."""

from __future__ import annotations

from collections.abc import Mapping

from expert.inference.evaluation_model import Known
from expert.knowledge.derivation_model import Derivation
from expert.knowledge.model import Quantity
from expert.units.measure import Measure


def taken_of(known: Known, take: str) -> Measure:
    """The reading that is taken; of what is itself derived its value. Of equal ones the first."""
    measures = _measures(known)
    if take == "last" or not measures:
        assert isinstance(known.value, Measure)
        return known.value
    if take == "first":
        return measures[0]
    choose = min if take == "lowest" else max
    return choose(measures, key=lambda measure: measure.value)


def read_alone(derivation: Derivation, present: Mapping[str, Known]) -> Quantity | None:
    """The quantity, read once only, of which two readings are to be compared; None without one.

    The one reading would be both, and their difference of 0 would tell of a plant that stands
    still, though nobody has looked twice.
    """
    takes: dict[str, set[str]] = {}
    for name, known in present.items():
        of_it = takes.setdefault(known.quantity.id, set())
        of_it.add(derivation.inputs[name].take)
        if len(of_it) > 1 and len(_measures(known)) < 2:
            return known.quantity
    return None


def _measures(known: Known) -> list[Measure]:
    if known.derived:
        return []
    return [reading.value for reading in known.readings if isinstance(reading.value, Measure)]
