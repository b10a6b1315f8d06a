"""Which conditions look at a quantity, so that one who moves a reading knows what can change.

        suction pressure --derives--> superheat --keeps from being judged--> bulb temperature
              |                          |                                        |
        conditions on it           conditions on it                        conditions on it

Where none of these comes out otherwise, nothing else can: rules, states of the plant and influences
see a reading through conditions only.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from expert.inference.truth import Facts
from expert.knowledge.conditions import (
    Condition,
    Elementary,
    HasSign,
    everywhere,
    parts,
    quantities_anywhere,
)
from expert.knowledge.model import Limit, Rule, Rulebase


class LookedAt:
    """The elementary conditions of some rules of a rulebase by the quantities they hang on."""

    def __init__(self, rulebase: Rulebase, rules: Iterable[Rule], limits: Iterable[Limit]) -> None:
        self._by: dict[str, dict[int, Elementary]] = {}
        rules = tuple(rules)
        self._order = {rule.id: number for number, rule in enumerate(rules)}
        self._rules: dict[int, dict[str, Rule]] = {}
        for rule in rules:
            for condition in (*rule.when, *rule.unless):
                for part in parts(condition):
                    self._rules.setdefault(id(part), {})[rule.id] = rule
        self._of_plant = {id(part) for each in _of_plant(rulebase) for part in parts(each)}
        for condition in _conditions(rulebase, rules):
            for part in parts(condition):
                for name in quantities_anywhere(part):
                    self._by.setdefault(name, {})[id(part)] = part
        # signs are settled in the course of a run, so what looks at them is not kept
        self._kept = {
            key
            for found in self._by.values() for key, part in found.items()
            if not any(isinstance(each, HasSign) for each in everywhere(part))
        }  # fmt: skip
        self._next = _leads_to(rulebase, limits)
        self._reached: dict[str, tuple[Elementary, ...]] = {}

    def of(self, quantity: str) -> tuple[Elementary, ...]:
        """Every condition whose truth can hang on a reading of a quantity."""
        if quantity not in self._reached:
            reached, waiting = {quantity}, [quantity]
            while waiting:
                new = self._next.get(waiting.pop(), set()) - reached
                reached |= new
                waiting += new
            found = {key: part for name in reached for key, part in self._by.get(name, {}).items()}
            self._reached[quantity] = tuple(found.values())
        return self._reached[quantity]

    def moved(self, quantity: str, one: Facts, other: Facts) -> tuple[Elementary, ...]:
        """What comes out otherwise with other readings of one quantity."""
        return tuple(p for p in self.of(quantity) if one.holds(p) is not other.holds(p))

    def rules_of(self, found: Iterable[Elementary]) -> tuple[Rule, ...]:
        """The rules in which some conditions stand."""
        rules: dict[str, Rule] = {}
        for part in found:
            rules |= self._rules.get(id(part), {})
        return tuple(rules.values())

    def in_order(self, rules: Iterable[Rule]) -> tuple[Rule, ...]:
        """Some of the rules as they stand in the rulebase."""
        return tuple(sorted(rules, key=lambda rule: self._order[rule.id]))

    def tells_of_plant(self, found: Iterable[Elementary]) -> bool:
        """Whether one of some conditions tells a state of the plant, what follows from it, or which
        causes it can have.
        """
        return any(id(part) in self._of_plant for part in found)

    def take_over(self, quantity: str, one: Facts, other: Facts) -> None:
        """All that does not hang on a quantity, of which alone the readings are other ones, is
        not judged again.
        """
        keys = self._kept - {id(part) for part in self.of(quantity)}
        other.take_over({key: kept for key, kept in one.settled().items() if key in keys})


def _conditions(rulebase: Rulebase, rules: Iterable[Rule]) -> Iterator[Condition]:
    for rule in rules:
        yield from (*rule.when, *rule.unless)
    yield from _of_plant(rulebase)


def _of_plant(rulebase: Rulebase) -> Iterator[Condition]:
    for state in rulebase.plant_states.values():
        for way in state.seen_in:
            yield from (*way.high, *way.normal, *way.low)
    for cause in rulebase.causes.values():
        yield from cause.can_be_when
    for arrow in rulebase.influences.values():
        yield from arrow.when


def _leads_to(rulebase: Rulebase, limits: Iterable[Limit]) -> dict[str, set[str]]:
    """By quantity: what is computed from it, and what cannot be judged because of it."""
    found: dict[str, set[str]] = {}
    for quantity in rulebase.quantities.values():
        for name in quantity.derivation.rests_on if quantity.derivation else ():
            found.setdefault(name, set()).add(quantity.id)
    for limit in limits:
        for condition in limit.cannot_judge_when:
            for name in quantities_anywhere(condition):
                found.setdefault(name, set()).add(limit.quantity)
    return found
