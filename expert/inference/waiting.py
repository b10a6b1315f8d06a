"""The readings that undecided rules wait for, also through the signs other rules conclude."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, Elementary, HasSign, parts, quantities_in
from expert.knowledge.model import Quantity, Rule
from expert.knowledge.strata import rules_by_sign

_KEPT = 20_000  # conditions of which the parts are kept

_BELOW: dict[int, tuple[Condition, tuple[tuple[Elementary, tuple[str, ...]], ...]]] = {}


def _below(condition: Condition) -> tuple[tuple[Elementary, tuple[str, ...]], ...]:
    """The parts of a condition with the quantities each looks at, worked out once.

    Kept by identity, as in `Facts.holds`; the condition is kept beside, so that its key is its own.
    """
    kept = _BELOW.get(id(condition))
    if kept is None:
        if len(_BELOW) >= _KEPT:
            _BELOW.clear()
        made = tuple((part, quantities_in(part)) for part in parts(condition))
        kept = _BELOW[id(condition)] = (condition, made)
    return kept[1]


class Waiting:
    """The readings that undecided rules wait for, also through the signs other rules conclude."""

    def __init__(
        self, rules: tuple[Rule, ...], facts: Facts, quantities: Mapping[str, Quantity]
    ) -> None:
        self.rules = rules
        self.facts = facts
        self.quantities = quantities
        self.concluding = rules_by_sign(rules)
        self.found: dict[str, tuple[tuple[str, ...], ...]] = {}

    def readings(self, rule: Rule) -> tuple[str, ...]:
        """Readings that an undecided rule waits for; none if it is settled already."""
        return tuple(dict.fromkeys(name for names in self._waits(rule) for name in names))

    def could_fire(self, rule: Rule, there: Collection[str]) -> bool:
        """Whether for each condition that is open some reading can be had (`there`)."""
        waits = self._waits(rule)
        return all(not names or any(name in there for name in names) for names in waits)

    def _waits(self, rule: Rule) -> tuple[tuple[str, ...], ...]:
        """For each condition that is open the readings it waits for."""
        if rule.id not in self.found:
            self.found[rule.id] = tuple(tuple(self.under(each)) for each in self._open(rule))
        return self.found[rule.id]

    def _open(self, rule: Rule) -> tuple[Condition, ...]:
        if any(self.facts.holds(exception) is True for exception in rule.unless):
            return ()
        truths = [self.facts.holds(condition) for condition in rule.when]
        if False in truths:
            return ()
        if None in truths:
            return tuple(c for c, truth in zip(rule.when, truths, strict=True) if truth is None)
        return tuple(each for each in rule.unless if self.facts.holds(each) is None)

    def under(self, condition: Condition) -> Iterator[str]:
        """The readings that a condition of unknown truth waits for."""
        for part, looks_at in _below(condition):
            if self.facts.holds(part) is not None:
                continue
            if isinstance(part, HasSign):
                for rule in self.concluding.get(part.sign, ()):
                    yield from self.readings(rule)
            for name in looks_at:
                yield from self.missing(name)

    def missing(self, name: str) -> Iterator[str]:
        """Readings that a quantity waits for: itself, or those that it is computed from."""
        quantity = self.quantities[name]
        if name in self.facts.known or quantity.given == "log":
            return
        if quantity.derivation is None:
            yield name
            return
        for source in quantity.derivation.inputs.values():
            if source.nearer not in self.facts.known:
                yield from self.missing(source.quantity)
        for kind in quantity.derivation.kinds:
            yield from self.missing(kind)
