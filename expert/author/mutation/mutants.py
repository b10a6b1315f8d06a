"""Small wrong changes of knowledge, one at a time; a good test notices each of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from expert.author.mutation.changed_conditions import ChangedCondition, changes
from expert.author.mutation.changed_limits import limit_changes
from expert.errors import Place
from expert.knowledge.conditions import Condition
from expert.knowledge.model import Gate, Limit, Rule, Rulebase

HEADS = ("evidence dropped", "evidence turned", "strength")  # kinds that leave firing alone


@dataclass(frozen=True)
class Mutant:
    """One wrong change: its kind, what it does in words, where, and the thing as changed."""

    kind: str
    what: str
    place: Place
    rule: Rule | None = None
    limit: Limit | None = None
    gate: Gate | None = None

    @property
    def id(self) -> str:
        """The id of the rule, limit or gate that is changed."""
        changed = self.rule or self.limit or self.gate
        return changed.id if changed else ""

    def __str__(self) -> str:
        return f"{self.place}: {self.id}: {self.what}"


def with_mutant(part: Rulebase, mutant: Mutant) -> Rulebase:
    """A rulebase, or a closure of it, with the mutant in it."""
    if mutant.rule is not None:
        return replace(part, rules={**part.rules, mutant.rule.id: mutant.rule})
    if mutant.limit is not None:
        changed: Limit = mutant.limit
        limits = tuple(changed if each.id == changed.id else each for each in part.limits)
        return replace(part, limits=limits)
    assert mutant.gate is not None
    return replace(part, gates={**part.gates, mutant.gate.id: mutant.gate})


def mutants(rulebase: Rulebase) -> Iterator[Mutant]:
    """Every mutant of every rule, limit and gate, in the order of the files."""
    for rule in rulebase.rules.values():
        yield from rule_mutants(rule, rulebase)
    for limit, kind, what, place in limit_changes(rulebase):
        yield Mutant(kind, what, place, limit=limit)
    for gate in rulebase.gates.values():
        for number, condition in enumerate(gate.needs):
            less = _without(gate.needs, number)
            what = f"'{condition}' is no longer needed"
            yield Mutant("gate", what, gate.place, gate=replace(gate, needs=less))


def rule_mutants(rule: Rule, rulebase: Rulebase) -> Iterator[Mutant]:
    """The mutants of one rule."""
    for conditions, change in _lists(rule.when, rulebase):
        changed = replace(rule, when=conditions)
        yield Mutant(change.kind, change.what, _place(change, rule), rule=changed)
    for conditions, change in _lists(rule.unless, rulebase):
        changed = replace(rule, unless=conditions)
        what = f"unless: {change.what}"
        kind = "exception dropped" if change.kind == "condition dropped" else change.kind
        yield Mutant(kind, what, _place(change, rule), rule=changed)
    for key in rule.applies:
        others = {name: words for name, words in rule.applies.items() if name != key}
        changed = replace(rule, applies=others)
        yield Mutant("applies dropped", f"applies whatever its {key}", rule.place, rule=changed)
    for sign in rule.concludes:
        kept = tuple(each for each in rule.concludes if each != sign)
        changed = replace(rule, concludes=kept)
        yield Mutant(
            "conclusion dropped", f"no longer concludes '{sign}'", rule.place, rule=changed
        )
    yield from _evidence_mutants(rule, rulebase)


def _evidence_mutants(rule: Rule, rulebase: Rulebase) -> Iterator[Mutant]:
    sides = ((rule.evidence_for, rule.evidence_against, "for"),
             (rule.evidence_against, rule.evidence_for, "against"))  # fmt: skip
    for evidence, opposite, side in sides:
        for cause, strength in evidence.items():
            less = {name: word for name, word in evidence.items() if name != cause}
            turned = {**opposite, cause: strength}
            other = _furthest(strength, rulebase.certainty.strengths)
            stance = f"{side} '{cause}'"
            options: list[tuple[str, str, Mapping[str, str], Mapping[str, str]]] = [
                ("evidence dropped", f"says nothing {stance}", less, opposite),
                ("evidence turned", f"speaks the other way than {stance}", less, turned),
            ]
            if other != strength:
                changed = {**evidence, cause: other}
                options.append(("strength", f"{other} {stance}, not {strength}", changed, opposite))
            for kind, what, same, contrary in options:
                pro, con = (same, contrary) if side == "for" else (contrary, same)
                changed_rule = replace(rule, evidence_for=pro, evidence_against=con)
                yield Mutant(kind, what, rule.place, rule=changed_rule)


def _furthest(strength: str, strengths: Mapping[str, float]) -> str:
    """The named strength that differs most: what lies nearer says nearly the same."""
    return max(strengths, key=lambda word: abs(strengths[word] - strengths[strength]))


def _lists(
    conditions: Sequence[Condition], rulebase: Rulebase
) -> Iterator[tuple[tuple[Condition, ...], ChangedCondition]]:
    for number, condition in enumerate(conditions):
        for change in changes(condition, rulebase):
            put = () if change.condition is None else (change.condition,)
            yield (*conditions[:number], *put, *conditions[number + 1 :]), change


def _without(conditions: Sequence[Condition], number: int) -> tuple[Condition, ...]:
    return (*conditions[:number], *conditions[number + 1 :])


def _place(change: ChangedCondition, rule: Rule) -> Place:
    return change.place if change.place.path else rule.place
