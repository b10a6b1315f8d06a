"""From readings and site values to everything that is known, derived values included."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from operator import is_

from expert.inference.evaluation_model import Known, Missing, Reading, Taken
from expert.inference.taken_of_series import read_alone, taken_of
from expert.knowledge.derivation_model import Derivation, Input
from expert.knowledge.model import Quantity
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass
from expert.physics.air.barometer import barometer
from expert.physics.frame.catalog import formula as catalogued
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.frame.uncertainty import propagate
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
    if subject.has:
        readings += [
            Reading(quantity.id, choice, choice, stage="site")
            for quantity in quantities.values()
            for choice, device in quantity.fitted.items()
            if device in subject.has and quantity.id not in subject.values
        ]
    return tuple(readings)


def derive(
    readings: Iterable[Reading], subject: Subject, quantities: Mapping[str, Quantity]
) -> tuple[dict[str, Known], tuple[Missing, ...]]:
    """What is known of each quantity, and what could not be computed though part of it was read.

    A reading beats the site's value, the last reading of a quantity is its value, and a derived
    quantity that was read directly is not computed, unless it is known only in words.
    """
    return Deriver(subject, quantities).derive(readings)


class Deriver:
    """Derives for one subject. What rests on the same as in the call before is not made again."""

    def __init__(self, subject: Subject, quantities: Mapping[str, Quantity]):
        self._quantities = quantities
        self._context = context_of(subject)
        self._given: dict[str, list[Reading]] = {}
        for reading in site_readings(subject, quantities):
            self._given.setdefault(reading.quantity, []).append(reading)
        self._read: dict[str, Known] = {}
        self._made: dict[str, tuple[tuple[Known | None, ...], Known | Missing | None]] = {}
        self._last: tuple[Mapping[str, Sequence[Reading]], _DerivedSoFar] | None = None

    def derive(self, readings: Iterable[Reading]) -> tuple[dict[str, Known], tuple[Missing, ...]]:
        """As the function `derive`."""
        quantities = self._quantities
        series: dict[str, list[Reading]] = {}
        for reading in readings:
            if reading.quantity in quantities:
                series.setdefault(reading.quantity, []).append(reading)
        read = self._given | series
        made = self._with_others(read) or self._from_scratch(read)
        self._last = (read, made)
        missing = tuple(each for each in made.tried.values() if isinstance(each, Missing))
        return dict(made.known), missing

    def _from_scratch(self, read: Mapping[str, Sequence[Reading]]) -> _DerivedSoFar:
        known = {name: self._known(name, group) for name, group in read.items()}
        positions = _order(self._quantities).positions
        job = _DerivedSoFar(known, {})
        for name in sorted(_reached(known, self._quantities), key=positions.__getitem__):
            self._know(self._quantities[name], job)
        ordered = {name: known[name] for name in sorted(known, key=positions.__getitem__)}
        return _DerivedSoFar(ordered, job.tried)

    def _with_others(self, read: Mapping[str, Sequence[Reading]]) -> _DerivedSoFar | None:
        """What was known before, and anew only what hangs on readings that are other ones.

        None where that is not enough: something is read that was not, or can be computed now.
        """
        held = self._last  # rules are prepared in a thread of their own, which may derive too
        if held is None or held[0].keys() != read.keys():
            return None
        before, last = held
        moved = [name for name, group in read.items() if group != before[name]]
        again = [name for name in _reached(moved, self._quantities) if name in last.tried]
        if any(name in read for name in again) or any(name in last.tried for name in moved):
            return None
        job = _DerivedSoFar(dict(last.known), dict(last.tried))
        job.known.update({name: self._known(name, read[name]) for name in moved})
        for name in again:
            job.known.pop(name, None)
            del job.tried[name]
        for name in sorted(again, key=_order(self._quantities).positions.__getitem__):
            self._know(self._quantities[name], job)
        if job.known.keys() != last.known.keys() or job.tried.keys() != last.tried.keys():
            return None
        return _DerivedSoFar(
            {name: job.known[name] for name in last.known},
            {name: job.tried[name] for name in last.tried},
        )

    def _known(self, name: str, group: Sequence[Reading]) -> Known:
        kept, readings = self._read.get(name), tuple(group)
        if kept is None or kept.readings != readings:
            kept = self._read[name] = Known(self._quantities[name], readings[-1].value, readings)
        return kept

    def _know(self, quantity: Quantity, job: _DerivedSoFar) -> Known | None:
        """The known value of a quantity, computed now if it can be."""
        derivation = quantity.derivation
        said = job.known.get(quantity.id)
        read = said is not None and not said.in_words
        if read or derivation is None or quantity.id in job.tried:
            return said
        job.tried[quantity.id] = None
        inputs = tuple(self._input(source, job) for source in derivation.inputs.values())
        inputs += tuple(job.known.get(name) for name in derivation.kinds)
        last = self._made.get(quantity.id)
        if last is not None and all(map(is_, last[0], inputs)):
            found = last[1]
        else:
            found = self._made_of(quantity, derivation, inputs)
            self._made[quantity.id] = (inputs, found)
        del job.tried[quantity.id]  # it stands after what it was made of
        job.tried[quantity.id] = found
        if isinstance(found, Known):
            job.known[quantity.id] = found
            return found
        if said is not None:
            job.tried[quantity.id] = None  # a number would be better, but it is not missing
        return said

    def _input(self, source: Input, job: _DerivedSoFar) -> Known | None:
        """An input from the best place at which it was read as a number."""
        if source.nearer:
            nearer = self._know(self._quantities[source.nearer], job)
            if nearer is not None and not nearer.in_words:
                return nearer
        known = job.known.get(source.quantity)
        if known is not None and not known.in_words:
            return known
        return self._know(self._quantities[source.quantity], job)

    def _made_of(
        self, quantity: Quantity, derivation: Derivation, inputs: Sequence[Known | None]
    ) -> Known | Missing | None:
        """The value from its inputs, what of it is missing, or nothing where none was measured."""
        inputs, kinds = inputs[: len(derivation.inputs)], inputs[len(derivation.inputs) :]
        named = dict(zip(derivation.inputs, inputs, strict=True))
        present = {
            name: known for name, known in named.items() if known is not None and not known.in_words
        }
        if len(present) < len(named):
            if not any(known.measured for known in present.values()):
                return None
            absent = [
                self._quantities[derivation.inputs[name].quantity].title
                for name in named
                if name not in present
            ]
            return Missing(quantity.title, f"{' and '.join(absent)} not known", quantity.id)
        for (name, words), kind in zip(derivation.kinds.items(), kinds, strict=True):
            if kind is None:
                title = self._quantities[name].title
                return Missing(quantity.title, f"{title} not known", quantity.id)
            if kind.value not in words:
                return None
        formula = catalogued(derivation.function)
        if formula.needs_refrigerant and self._context.refrigerant is None:
            return Missing(quantity.title, "the refrigerant is not known", quantity.id)
        single = read_alone(derivation, present)
        if single is not None:
            why = f"{single.title} was read once, and the change needs two readings"
            return Missing(quantity.title, why, quantity.id)
        try:
            return self._computed(quantity, derivation, formula, present)
        except PhysicsError as error:
            return Missing(quantity.title, str(error), quantity.id)

    def _computed(
        self,
        quantity: Quantity,
        derivation: Derivation,
        formula: Formula,
        present: Mapping[str, Known],
    ) -> Known:
        taken = {
            name: taken_of(known, derivation.inputs[name].take) for name, known in present.items()
        }
        values = {name: measure.value for name, measure in taken.items()}
        errors = {name: measure.plus_minus or 0.0 for name, measure in taken.items()}
        value, plus_minus = _computed(
            formula.name, self._context, tuple(values.items()), tuple(errors.items())
        )
        return Known(
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


@dataclass(frozen=True)
class _DerivedSoFar:
    """One call: what is known by now, and every derived quantity tried with what came of it."""

    known: dict[str, Known]
    tried: dict[str, Known | Missing | None]


@dataclass(frozen=True)
class _DerivedOrder:
    """Where each quantity stands in a dictionary, and which derived ones hang on it.

    Keeps the dictionary itself, so that its identity can serve as a key.
    """

    quantities: Mapping[str, Quantity]
    positions: dict[str, int]
    above: dict[str, tuple[str, ...]]


_orders: dict[int, _DerivedOrder] = {}


def _order(quantities: Mapping[str, Quantity]) -> _DerivedOrder:
    found = _orders.get(id(quantities))
    if found is None:
        above: dict[str, tuple[str, ...]] = {}
        for quantity in quantities.values():
            for place in quantity.derivation.rests_on if quantity.derivation else ():
                above[place] = (*above.get(place, ()), quantity.id)
        positions = {name: position for position, name in enumerate(quantities)}
        if len(_orders) >= _KEPT:
            _orders.clear()
        found = _orders[id(quantities)] = _DerivedOrder(quantities, positions, above)
    return found


def could_be_known(names: Iterable[str], quantities: Mapping[str, Quantity]) -> set[str]:
    """Some names, and of all that can be computed where these are known; no less is known then."""
    found = set(names)
    waiting = sorted(_reached(found, quantities), key=_order(quantities).positions.__getitem__)
    before = -1
    while len(found) > before:
        before = len(found)
        for name in waiting:
            derivation = quantities[name].derivation
            if derivation is not None and found.issuperset(derivation.kinds):
                inputs = derivation.inputs.values()
                if all(one.quantity in found or one.nearer in found for one in inputs):
                    found.add(name)
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


@lru_cache(maxsize=4096)
def _computed(
    function: str,
    context: Context,
    values: tuple[tuple[str, float], ...],
    errors: tuple[tuple[str, float], ...],
) -> tuple[float, float]:
    """Value and uncertainty; kept, since one answer changes few of the derived values."""
    return propagate(catalogued(function), context, dict(values), dict(errors))
