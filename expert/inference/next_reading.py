"""What to measure next: what would tell most about the leading causes, for its effort."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations, islice

from expert.inference.evaluation_model import Finding, NextReading, each_finding
from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, HasSign, parts, quantities_in
from expert.knowledge.model import Quantity, Rule, Rulebase
from expert.knowledge.strata import rules_by_sign

AT_MOST = 5
_LEADING = 3  # so many causes are held against one another
_LOOK_MINUTES = 10  # what takes longer is a job, not a look (own choice)
_HAZARD_MINUTES = 3  # each hazard of a reading counts like so many minutes (own choice)


def rank_next(
    rules: Iterable[Rule], facts: Facts, findings: tuple[Finding, ...], rulebase: Rulebase
) -> tuple[NextReading, ...]:
    """At most five readings, best first: how far each parts the leading causes, for its effort.

    What a reading could add for or against a cause is shared among all that a rule waits for.
    With no finding yet, every cause that a reading could speak for counts alike.
    """
    rules = tuple(rules)
    waiting = _Waiting(rules, facts, rulebase.quantities)
    effects: dict[str, dict[str, float]] = {}
    for rule in rules:
        unknown = waiting.readings(rule)
        for sign, evidence in ((1, rule.evidence_for), (-1, rule.evidence_against)):
            for cause, strength in evidence.items():
                share = sign * rulebase.certainty.strengths[strength] / max(len(unknown), 1)
                for name in unknown:
                    causes = effects.setdefault(name, {})
                    causes[cause] = causes.get(cause, 0.0) + share
    leading = {
        finding.cause.id: finding.certainty for finding in islice(each_finding(findings), _LEADING)
    }
    ranked = []
    for name, causes in effects.items():
        quantity = rulebase.quantities[name]
        worth = _parting(causes, leading) / _effort(quantity)
        if worth > 0:
            ranked.append(NextReading(quantity, _why(causes, leading, rulebase), round(worth, 6)))
    # Where causes are to be parted, looks come before gauges, gauges before anything is opened.
    step = {each.quantity.id: _step(each.quantity, rulebase) if leading else 0 for each in ranked}
    ranked.sort(key=lambda each: (step[each.quantity.id], -each.worth, each.quantity.id))
    return tuple(ranked[:AT_MOST])


def _parting(causes: Mapping[str, float], leading: Mapping[str, float]) -> float:
    """How far a reading would move the leading causes, and move them apart."""
    if not leading:
        return sum(abs(effect) for effect in causes.values())
    moved = sum(abs(causes.get(cause, 0.0)) * certainty for cause, certainty in leading.items())
    apart = sum(
        abs(causes.get(one, 0.0) - causes.get(other, 0.0)) * min(leading[one], leading[other])
        for one, other in combinations(leading, 2)
    )
    return moved + apart


def _step(quantity: Quantity, rulebase: Rulebase) -> int:
    """0 for a look, 1 for an instrument, 2 where the system is opened."""
    takes = {rulebase.cautions[name].beyond_looking for name in quantity.cautions}
    if "opening" in takes:
        return 2
    free = quantity.is_choice and "gauges" not in takes and quantity.effort <= _LOOK_MINUTES
    return 0 if free else 1


def _effort(quantity: Quantity) -> float:
    return quantity.effort + _HAZARD_MINUTES * len(quantity.cautions)


def _why(causes: Mapping[str, float], leading: Mapping[str, float], rulebase: Rulebase) -> str:
    named = [cause for cause in causes if cause in leading] or list(causes)
    named.sort(key=lambda cause: (-abs(causes[cause]), cause))
    titles = [f"'{rulebase.causes[cause].title}'" for cause in named[:2]]
    return f"It would speak for or against {' and '.join(titles)}."


class _Waiting:
    """The readings that undecided rules wait for, also through the signs other rules conclude."""

    def __init__(
        self, rules: Iterable[Rule], facts: Facts, quantities: Mapping[str, Quantity]
    ) -> None:
        self.facts = facts
        self.quantities = quantities
        self.concluding = rules_by_sign(rules)
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
        truths = [self.facts.holds(condition) for condition in rule.when]
        if False in truths:
            return ()
        if None in truths:
            return tuple(c for c, truth in zip(rule.when, truths, strict=True) if truth is None)
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
