"""From readings and site values to everything that is known, derived values included."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from expert.inference.model import Known, Missing, Reading, Taken
from expert.knowledge.model import Derivation, Quantity
from expert.knowledge.site import Subject
from expert.physics.air import barometer
from expert.physics.catalog import formula as catalogued
from expert.physics.errors import PhysicsError
from expert.physics.formula import Context, Formula
from expert.physics.uncertainty import propagate
from expert.units.measure import Measure

_KEPT = 16  # dictionaries of which the order is kept


def context_of(subject: Subject) -> Context:
    """Refrigerant and barometer of a subject."""
    return Context(subject.facts.get("refrigerant"), barometer(subject.altitude))


def site_readings(subject: Subject, quantities: Mapping[str, Quantity]) -> tuple[Reading, ...]:
    """The site file's values as readings of stage 'site'; exact, since they are settings."""
    readings = []
    for value in subject.values.values():
        kind = quantities[value.quantity].kind
        known = value.value if isinstance(value.value, str) else Measure(kind, value.value)
        readings.append(Reading(value.quantity, known, value.text, stage="site"))
    return tuple(readings)


def derive(
    readings: Iterable[Reading], subject: Subject, quantities: Mapping[str, Quantity]
) -> tuple[dict[str, Known], tuple[Missing, ...]]:
    """What is known of each quantity, and what could not be computed though part of it was read.

    A reading beats the site's value, the last reading of a quantity is its value, and a derived
    quantity that was read directly is not computed.
    """
    series: dict[str, list[Reading]] = {}
    for reading in (*site_readings(subject, quantities), *readings):
        if reading.quantity in quantities:
            series.setdefault(reading.quantity, []).append(reading)
    for name, group in series.items():
        taken = [reading for reading in group if reading.stage != "site"]
        series[name] = taken or group
    known = {
        name: Known(quantities[name], group[-1].value, tuple(group))
        for name, group in series.items()
    }
    deriver = _Deriver(known, context_of(subject), quantities)
    order = _order(quantities)
    for name in sorted(_reached(known, quantities), key=order.positions.__getitem__):
        deriver.know(quantities[name])
    ordered = {name: known[name] for name in sorted(known, key=order.positions.__getitem__)}
    return ordered, tuple(deriver.missing)


@dataclass(frozen=True)
class _Order:
    """Where each quantity stands in a dictionary, and which derived ones hang on it.

    Keeps the dictionary itself, so that its identity can serve as a key.
    """

    quantities: Mapping[str, Quantity]
    positions: dict[str, int]
    above: dict[str, tuple[str, ...]]


_orders: dict[int, _Order] = {}


def _order(quantities: Mapping[str, Quantity]) -> _Order:
    found = _orders.get(id(quantities))
    if found is None:
        above: dict[str, tuple[str, ...]] = {}
        for quantity in quantities.values():
            for source in quantity.derivation.inputs.values() if quantity.derivation else ():
                above[source.quantity] = (*above.get(source.quantity, ()), quantity.id)
        positions = {name: position for position, name in enumerate(quantities)}
        if len(_orders) >= _KEPT:
            _orders.clear()
        found = _orders[id(quantities)] = _Order(quantities, positions, above)
    return found


def _reached(known: Iterable[str], quantities: Mapping[str, Quantity]) -> set[str]:
    """The derived quantities of which at least one input is known or could be computed."""
    above = _order(quantities).above
    reached: set[str] = set()
    waiting = list(known)
    while waiting:
        for name in above.get(waiting.pop(), ()):
            if name not in reached:
                reached.add(name)
                waiting.append(name)
    return reached


class _Deriver:
    def __init__(
        self, known: dict[str, Known], context: Context, quantities: Mapping[str, Quantity]
    ):
        self.known = known
        self.context = context
        self.quantities = quantities
        self.missing: list[Missing] = []
        self.tried: set[str] = set()

    def know(self, quantity: Quantity) -> Known | None:
        """The known value of a quantity, computed now if it can be."""
        if quantity.id in self.known or quantity.derivation is None or quantity.id in self.tried:
            return self.known.get(quantity.id)
        self.tried.add(quantity.id)
        derivation = quantity.derivation
        inputs = {
            name: self.know(self.quantities[source.quantity])
            for name, source in derivation.inputs.items()
        }
        absent = [
            self.quantities[derivation.inputs[name].quantity]
            for name, known in inputs.items()
            if known is None
        ]
        formula = catalogued(derivation.function)
        if absent:
            if any(known is not None and known.measured for known in inputs.values()):
                names = " and ".join(lacking.title for lacking in absent)
                self._miss(quantity, f"{names} not known")
            return None
        if formula.needs_refrigerant and self.context.refrigerant is None:
            self._miss(quantity, "the refrigerant is not known")
            return None
        present = {name: known for name, known in inputs.items() if known is not None}
        return self._compute(quantity, derivation, formula, present)

    def _compute(
        self,
        quantity: Quantity,
        derivation: Derivation,
        formula: Formula,
        present: Mapping[str, Known],
    ) -> Known | None:
        taken = {
            name: _take(known, derivation.inputs[name].take) for name, known in present.items()
        }
        values = {name: measure.value for name, measure in taken.items()}
        errors = {name: measure.plus_minus or 0.0 for name, measure in taken.items()}
        try:
            value, plus_minus = _computed(
                formula.name, self.context, tuple(values.items()), tuple(errors.items())
            )
        except PhysicsError as error:
            self._miss(quantity, str(error))
            return None
        known = Known(
            quantity,
            Measure(quantity.kind, value, plus_minus),
            tuple(reading for each in present.values() for reading in each.readings),
            formula.text,
            tuple(
                Taken(each.quantity, derivation.inputs[name].take, taken[name])
                for name, each in present.items()
            ),
            formula.warn(value),
        )
        self.known[quantity.id] = known
        return known

    def _miss(self, quantity: Quantity, why: str) -> None:
        self.missing.append(Missing(quantity.title, why, quantity.id))


def _take(known: Known, take: str) -> Measure:
    measures = [r.value for r in known.readings if isinstance(r.value, Measure)]
    if take == "last" or known.derived or not measures:
        assert isinstance(known.value, Measure)
        return known.value
    if take == "first":
        return measures[0]
    choose = min if take == "lowest" else max
    return choose(measures, key=lambda measure: measure.value)


@lru_cache(maxsize=4096)
def _computed(
    function: str,
    context: Context,
    values: tuple[tuple[str, float], ...],
    errors: tuple[tuple[str, float], ...],
) -> tuple[float, float]:
    """Value and uncertainty; kept, since one answer changes few of the derived values."""
    return propagate(catalogued(function), context, dict(values), dict(errors))
