"""What to measure next: the unknown that would tell most about the leading causes, for its effort."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from expert.inference.model import Finding, NextReading
from expert.inference.truth import Facts
from expert.knowledge.conditions import Condition, parts, quantities_in
from expert.knowledge.model import Quantity, Rule, Rulebase

AT_MOST = 5
_UNSUPPORTED = 0.2  # interest in a cause that nothing speaks for yet
_HAZARD_MINUTES = 3  # each hazard of a reading counts like so many minutes (own choice)


def rank_next(
    rules: Iterable[Rule], facts: Facts, findings: tuple[Finding, ...], rulebase: Rulebase
) -> tuple[NextReading, ...]:
    """At most five readings, best first; each says which causes it would settle."""
    interest = {finding.cause.id: finding.certainty for finding in _flat(findings)}
    worth: dict[str, float] = {}
    settles: dict[str, dict[str, float]] = {}
    for rule in rules:
        unknown = _unknown(rule, facts, rulebase.quantities)
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


def _unknown(rule: Rule, facts: Facts, quantities: Mapping[str, Quantity]) -> tuple[str, ...]:
    """Readings that an undecided rule waits for; none if it is settled already."""
    if any(facts.holds(exception) is True for exception in rule.unless):
        return ()
    truths = [facts.holds(condition) for condition in rule.when]
    waiting: list[Condition] = [c for c, t in zip(rule.when, truths, strict=True) if t is None]
    if False in truths:
        return ()
    if None not in truths:
        waiting = [exception for exception in rule.unless if facts.holds(exception) is None]
    found: dict[str, None] = {}
    for condition in waiting:
        for part in parts(condition):
            if facts.holds(part) is None:
                for name in quantities_in(part):
                    found.update(dict.fromkeys(_missing(name, facts, quantities)))
    return tuple(found)


def _missing(name: str, facts: Facts, quantities: Mapping[str, Quantity]) -> tuple[str, ...]:
    quantity = quantities[name]
    if name in facts.known or quantity.given:
        return ()
    if quantity.derivation is None:
        return (name,)
    inputs = (source.quantity for source in quantity.derivation.inputs.values())
    return tuple(lower for below in inputs for lower in _missing(below, facts, quantities))


def _flat(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    return tuple(each for f in findings for each in (f, *_flat(f.effects)))
