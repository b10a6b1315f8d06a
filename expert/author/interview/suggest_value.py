"""A value that would make a condition true, as a first proposal for a case."""

from __future__ import annotations

from collections.abc import Mapping

from expert.author.rule_tests import DEFAULT_FACTS
from expert.inference.truth import limit_for
from expert.knowledge.conditions import Condition, HasSign, Is, parts, quantities_in
from expert.knowledge.model import Limit, Quantity, Rulebase
from expert.knowledge.site import Subject
from expert.units.kinds import Kind
from expert.units.measure import format_value
from expert.units.parse import parse_measure

Facts = Mapping[str, str]
_FIFTH = 0.2
_DEGREES = 10.0  # K; a plain step away from the one edge of a temperature
_SIGNED = (
    Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE, Kind.GAUGE_PRESSURE, Kind.PRESSURE_DIFFERENCE,
)  # fmt: skip


def names_in(conditions: tuple[Condition, ...]) -> tuple[str, ...]:
    """Quantities and signs that conditions look at, in their order, once each."""
    found: list[str] = []
    for condition in conditions:
        for part in parts(condition):
            found += [part.sign] if isinstance(part, HasSign) else quantities_in(part)
    return tuple(dict.fromkeys(found))


def suggest(name: str, conditions: tuple[Condition, ...], base: Rulebase, facts: Facts) -> str:
    """What to give for a name so that its condition holds; empty where nobody can tell."""
    for condition in conditions:
        for part in parts(condition):
            if isinstance(part, HasSign) and part.sign == name:
                return "no" if part.negated else "yes"
            if isinstance(part, Is) and part.quantity == name:
                return _value(part, base, facts)
    return ""


def limit_of(name: str, base: Rulebase, facts: Facts) -> Limit | None:
    """The limit that judges a quantity in a rule's test."""
    subject = Subject("test", "rule test", "circuit", "test", {**DEFAULT_FACTS, **facts})
    return limit_for(name, base.limits, subject)


def _value(part: Is, base: Rulebase, facts: Facts) -> str:
    quantity = base.quantities[part.quantity]
    if part.word == "known":
        return ""
    if quantity.is_choice:
        others = [word for word in quantity.choices if word != part.word]
        return (others[0] if others else "") if part.negated else part.word
    limit = limit_of(part.quantity, base, facts)
    word = part.word if not part.negated else "normal" if part.word != "normal" else "high"
    found = None if limit is None else _inside(word, limit, quantity)
    return "" if found is None else _rounded(quantity, *found)


def _inside(word: str, limit: Limit, quantity: Quantity) -> tuple[float, float] | None:
    """A value well inside a state, and how far inside it lies."""
    edges = [e for e in (limit.very_low, limit.low, limit.high, limit.very_high) if e is not None]
    alone = _DEGREES if quantity.kind is Kind.TEMPERATURE else abs(edges[0]) * 0.5
    spread = max(edges) - min(edges) if len(edges) > 1 else alone
    step = max(3 * (quantity.accuracy or 0.0), spread * 0.25)
    low, high = limit.low, limit.high
    if word == "normal" and low is not None and high is not None:
        return (low + high) / 2, (high - low) / 2
    rising = {"normal": low, "high": high, "very high": limit.very_high}.get(word)
    if rising is not None:
        return rising + step, step
    falling = {"normal": high, "low": low, "very low": limit.very_low}.get(word)
    if falling is None:
        return None
    if quantity.kind not in _SIGNED and falling - step < 0 < falling:  # no less than nothing
        step = falling / 2
    return falling - step, step


def _rounded(quantity: Quantity, value: float, step: float) -> str:
    """The value with as few digits as leave it well inside its state."""
    texts = [format_value(quantity.kind, value, digits=digits) for digits in range(4)]
    return next(
        (
            text
            for text in texts
            if abs(parse_measure(text, quantity.kind).value - value) <= step * _FIFTH
        ),
        texts[-1],
    )
