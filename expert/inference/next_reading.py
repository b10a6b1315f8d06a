"""What to measure next: the unknown that would tell most about the leading causes, for its effort."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from expert.inference.model import Finding, NextReading
from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, HasSign, parts, quantities_in
from expert.knowledge.model import Quantity, Rule, Rulebase

AT_MOST = 5
_UNSUPPORTED = 0.2  # interest in a cause that nothing speaks for yet
_HAZARD_MINUTES = 3  # each hazard of a reading counts like so many minutes (own choice)


def rank_next(
    rules: Iterable[Rule], facts: Facts, findings: tuple[Finding, ...], rulebase: Rulebase
) -> tuple[NextReading, ...]:
    """At most five readings, best first; each says which causes it would settle."""
    rules = tuple(rules)
    waiting = _Waiting(rules, facts, rulebase.quantities)
    interest = {finding.cause.id: finding.certainty for finding in _flat(findings)}
    worth: dict[str, float] = {}
    settles: dict[str, dict[str, float]] = {}
    for rule in rules:
        unknown = waiting.readings(rule)
        if not unknown:
            continue
        evidence = {**rule.evidence_for, **rule.evidence_against}
        for cause, strength in evidence.items():
            weight = rulebase.certainty.strengths[strength] * interest.get(cause, _UNSUPPORTED)
            if interest and cause not in interest:
                weight /= 2
            for quantity in unknown:
                share = weight / len(unknown)
                worth[quantity] = worth.get(quantity, 0.0) + share
                causes = settles.setdefault(quantity, {})
                causes[cause] = causes.get(cause, 0.0) + share
    ranked = [
        NextReading(
            rulebase.quantities[name],
            _why(settles[name], rulebase),
            round(value / _effort(rulebase.quantities[name]), 6),
        )
        for name, value in worth.items()
    ]
    ranked.sort(key=lambda reading: (-reading.worth, reading.quantity.id))
    return tuple(ranked[:AT_MOST])


def _effort(quantity: Quantity) -> float:
    return quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)


def _why(causes: Mapping[str, float], rulebase: Rulebase) -> str:
    leading = sorted(causes, key=lambda cause: (-causes[cause], cause))[:2]
    titles = [f"'{rulebase.causes[cause].title}'" for cause in leading]
    return f"It would speak for or against {' and '.join(titles)}."


class _Waiting:
    """The readings that undecided rules wait for, also through the signs other rules conclude."""

    def __init__(
        self, rules: Iterable[Rule], facts: Facts, quantities: Mapping[str, Quantity]
    ) -> None:
        self.facts = facts
        self.quantities = quantities
        self.concluding: dict[str, list[Rule]] = {}
        for rule in rules:
            for sign in rule.concludes:
                self.concluding.setdefault(sign, []).append(rule)
        self.found: dict[str, tuple[str, ...]] = {}

    def readings(self, rule: Rule) -> tuple[str, ...]:
        """Readings that an undecided rule waits for; none if it is settled already."""
        if rule.id not in self.found:
            conditions = self._open(rule)
            names = (name for condition in conditions for name in self._under(condition))
            self.found[rule.id] = tuple(dict.fromkeys(names))
        return self.found[rule.id]

    def _open(self, rule: Rule) -> tuple[Condition, ...]:
        if any(self.facts.holds(exception) is True for exception in rule.unless):
            return ()
        truths = {condition: self.facts.holds(condition) for condition in rule.when}
        if False in truths.values():
            return ()
        if None in truths.values():
            return tuple(condition for condition, truth in truths.items() if truth is None)
        return tuple(each for each in rule.unless if self.facts.holds(each) is None)

    def _under(self, condition: Condition) -> Iterator[str]:
        for part in parts(condition):
            if self.facts.holds(part) is not None:
                continue
            if isinstance(part, HasSign):
                for rule in self.concluding.get(part.sign, ()):
                    yield from self.readings(rule)
            for name in quantities_in(part):
                yield from self._missing(name)

    def _missing(self, name: str) -> Iterator[str]:
        quantity = self.quantities[name]
        if name in self.facts.known or quantity.given:
            return
        if quantity.derivation is None:
            yield name
            return
        for source in quantity.derivation.inputs.values():
            yield from self._missing(source.quantity)


def _flat(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return tuple(each for f in findings for each in (f, *_flat(f.effects)))
