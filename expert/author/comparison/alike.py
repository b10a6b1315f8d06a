"""Cases that two rulebases are bound to judge alike, found without judging them.

Where only rules, limits and quantities differ, a case is judged differently only if something of
what differs can act in it: a rule that can become true, or a limit of something that is known. Both
need readings. What could be known in a case follows from the names of what was read; values are
not looked at, so a case in which something could act may still come out the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import TypeVar

from expert.errors import Place
from expert.inference.derive import could_be_known
from expert.inference.subject_file import SubjectFile
from expert.knowledge.conditions import (
    KNOWN,
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    everywhere,
    quantities_in,
)
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.strata import rules_by_sign

T = TypeVar("T")

# What a verdict rests on besides rules, limits and quantities; where it differs nothing is said.
SAME = ("gates", "plant_states", "influences", "complaints", "plausible_errors",
        "refrigerants", "likenesses", "usual_words")  # fmt: skip

BESIDE = ("tests",)  # proof of a rule, which judges nothing


class Differing:
    """What differs between two rulebases, and whether it can act in a case."""

    def __init__(self, before: Rulebase, after: Rulebase) -> None:
        self._sides = (_Side(before, after), _Side(after, before))
        self._told = (
            _only_rules_differ(before, after)
            and _changed_strengths(before, after) is not None
            and not any(side.changed_signs & side.looked_at for side in self._sides)
        )

    def can_act(self, case: SubjectFile) -> bool:
        """Whether a case may be judged differently; False only where it cannot be."""
        return not self._told or any(side.can_act(case) for side in self._sides)


class _Side:
    """One rulebase, and what of it the other has not or has otherwise."""

    def __init__(self, own: Rulebase, other: Rulebase) -> None:
        self._own = own
        self._concluding = rules_by_sign(own.rules.values())
        self._rules = _changed(own.rules, other.rules)
        mine, others = ({each.id: each for each in base.limits} for base in (own, other))
        self._names = {limit.quantity for limit in _changed(mine, others)}
        self._names |= {each.id for each in _changed(own.quantities, other.quantities)}
        self.changed_signs = {sign for rule in self._rules for sign in rule.concludes}
        changed = {rule.id for rule in self._rules}
        weighed = _changed_strengths(own, other) or frozenset()
        self._weighed = [rule for rule in own.rules.values() if weighed & _strengths_of(rule)]
        same = (rule for rule in own.rules.values() if rule.id not in changed)
        conditions = [c for rule in same for c in (*rule.when, *rule.unless)]
        conditions += [c for gate in own.gates.values() for c in gate.needs]
        self.looked_at = {
            part.sign for c in conditions for part in everywhere(c) if isinstance(part, HasSign)
        }

    def can_act(self, case: SubjectFile) -> bool:
        names = self._could_be_known(case)
        if names & self._names:
            return True
        signs: dict[str, bool] = {}
        rules = (*self._rules, *self._weighed)
        return any(self._may_fire(rule, names, signs) for rule in rules)

    def _could_be_known(self, case: SubjectFile) -> set[str]:
        """Names of what was read or is given, and of all that can be computed from it."""
        names = {each.quantity for each in (*case.readings, *(case.found or ()))}
        for subject in (case.subject, *case.members):
            names |= set(subject.values) | set(subject.facts)
        return could_be_known(names, self._own.quantities)

    def _may_fire(self, rule: Rule, names: set[str], signs: dict[str, bool]) -> bool:
        return all(self._may_hold(condition, names, signs) for condition in rule.when)

    def _may_hold(self, condition: Condition, names: set[str], signs: dict[str, bool]) -> bool:
        if isinstance(condition, Group):
            may = [self._may_hold(each, names, signs) for each in condition.members]
            return sum(may) >= condition.at_least
        if isinstance(condition, HasSign):
            return condition.negated or self._may_be_concluded(condition.sign, names, signs)
        if isinstance(condition, Is) and condition.negated and condition.word == KNOWN:
            return True
        if isinstance(condition, InStage):
            return all(self._may_hold(each, names, signs) for each in condition.members)
        if isinstance(condition, Course):
            return condition.quantity in names
        if isinstance(condition, Is | Compare):
            return names.issuperset(quantities_in(condition))
        assert isinstance(condition, Over)  # of members nothing is said
        return True

    def _may_be_concluded(self, sign: str, names: set[str], signs: dict[str, bool]) -> bool:
        if sign not in signs:
            signs[sign] = any(
                self._may_fire(rule, names, signs) for rule in self._concluding.get(sign, ())
            )
        return signs[sign]


def same_but_scale(before: Rulebase, after: Rulebase) -> bool:
    """Whether two rulebases differ in nothing but how much evidence counts and how that is told: of
    every case the same is known then, and the same rules fire.
    """
    return all(
        says_the_same(getattr(before, each.name), getattr(after, each.name))
        for each in fields(before)
        if each.name not in ("info", "certainty", "explained")
    )


def _changed_strengths(before: Rulebase, after: Rulebase) -> frozenset[str] | None:
    """The names of strengths that count otherwise; None where more of the scale differs."""
    one, other = before.certainty, after.certainty
    if (one.words, one.threshold) != (other.words, other.threshold):
        return None
    names = one.strengths.keys() | other.strengths.keys()
    return frozenset(n for n in names if one.strengths.get(n) != other.strengths.get(n))


def _strengths_of(rule: Rule) -> set[str]:
    return {*rule.evidence_for.values(), *rule.evidence_against.values()}


def _changed(own: Mapping[str, T], other: Mapping[str, T]) -> list[T]:
    return [each for name, each in own.items() if not says_the_same(each, other.get(name))]


def says_the_same(one: object, other: object) -> bool:
    """Whether two models say the same, wherever they stand: a copy of a folder is nothing new."""
    if one == other:
        return True
    if type(one) is not type(other):
        return False
    if isinstance(one, Place):
        return True
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return list(one) == list(other) and all(says_the_same(one[k], other[k]) for k in one)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(says_the_same, one, other))
    return is_dataclass(one) and all(
        says_the_same(getattr(one, each.name), getattr(other, each.name))
        for each in fields(one)
        if each.compare and each.name not in BESIDE
    )


def _only_rules_differ(before: Rulebase, after: Rulebase) -> bool:
    """A new cause is found by new rules alone, unless it acts on the plant."""
    causes = (*_changed(before.causes, after.causes), *_changed(after.causes, before.causes))
    known = before.causes.keys() & after.causes.keys()
    return all(
        says_the_same(getattr(before, name), getattr(after, name)) for name in SAME
    ) and not any(cause.id in known or cause.acts_on for cause in causes)
