"""Runs the tests beside the rules, each rule in its closure: a thousand rules in about a second.

After a change only the rules that it can reach are run again: an edit is judged while one looks up.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, fields, is_dataclass, replace

from expert.author.rule_tests import Outcome, evaluator_for, found_of, named, outcome_of
from expert.author.search.rule_closure import RuleClosure
from expert.errors import Place
from expert.inference.evaluate import Evaluator
from expert.inference.make_engine import Backend
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.pack_model import PackInfo
from expert.knowledge.rule_test_model import RuleTest


class FoundInClosure:
    """How surely causes are found that tests ask for, each by the rules that speak of it."""

    def __init__(self, closure: RuleClosure, backend: Backend = "plain") -> None:
        self._closure = closure
        self._backend = backend
        self._made: dict[str, dict[object, Evaluator]] = {}

    def __call__(self, test: RuleTest, causes: Collection[str] | None = None) -> dict[str, str]:
        """The words for the certainty of each cause that a test asks for, or of some of them."""
        found: dict[str, str] = {}
        for cause in test.finds if causes is None else causes:
            made = self._made.setdefault(cause, {})
            evaluator = evaluator_for(test, self._closure.about(cause), self._backend, made)
            found |= found_of(test, evaluator, (cause,))
        return found


class RuleTestRunner:
    """Runs the tests of one rulebase after the other, and remembers what cannot have changed."""

    def __init__(self, backend: Backend = "plain") -> None:
        self._backend = backend
        self._closure: RuleClosure | None = None
        self._outcomes: dict[str, tuple[Outcome, ...]] = {}

    def run(self, rulebase: Rulebase, only: str = "") -> tuple[Outcome, ...]:
        """Every test of the rules with a word in their id or file, in the order of the files.

        It comes to the same as on the whole rulebase.
        """
        closure = RuleClosure(rulebase)
        found = FoundInClosure(closure, self._backend)
        if self._closure is not None:
            self._keep(closure, found)
        self._closure = closure
        chosen = [rule for rule in rulebase.rules.values() if named(rule, only)]
        for rule in chosen:
            if rule.id not in self._outcomes:
                self._outcomes[rule.id] = tuple(self._run(rule, closure, found))
        return tuple(outcome for rule in chosen for outcome in self._outcomes[rule.id])

    def _keep(self, closure: RuleClosure, found: FoundInClosure) -> None:
        """Keep the outcomes that a change leaves alone; what others find is found again."""
        assert self._closure is not None
        change = change_between(self._closure, closure)
        for name in change.rules:
            self._outcomes.pop(name, None)
        for name, had in self._outcomes.items():
            rule = closure.rulebase.rules[name]
            asked = [change.causes.intersection(test.finds) for test in rule.tests]
            if any(asked) or (had and had[0].rule is not rule):  # or it only stands elsewhere
                self._outcomes[name] = tuple(
                    Outcome(rule, test, each.got, {**each.found, **found(test, causes)})
                    for each, test, causes in zip(had, rule.tests, asked, strict=True)
                )

    def _run(self, rule: Rule, closure: RuleClosure, found: FoundInClosure) -> Iterable[Outcome]:
        made: dict[object, Evaluator] = {}
        for test in rule.tests:
            evaluator = evaluator_for(test, closure.of(rule.id), self._backend, made)
            does = outcome_of(rule, test, evaluator)
            yield Outcome(rule, test, does, found(test))


def run_in_closures(rulebase: Rulebase, backend: Backend = "plain") -> tuple[Outcome, ...]:
    """Every test of every rule, in the order of the files; the same as on the whole rulebase."""
    return RuleTestRunner(backend).run(rulebase)


@dataclass(frozen=True)
class Reached:
    """What of the tests of rules may come out otherwise, or is written otherwise, after an edit.

    All tests of `rules`; of others, how surely `causes` are found.
    """

    rules: frozenset[str]
    causes: frozenset[str] = frozenset()


def change_between(before: RuleClosure, after: RuleClosure) -> Reached:
    """What an edit changes; where more than rules changed, everything.

    Where an entry stands in its file changes nothing.
    """
    old, new = before.rulebase, after.rulebase
    names = {*old.rules, *new.rules}
    if _without_rules(old) != _without_rules(new):
        return Reached(frozenset(names))
    pairs = {name: (old.rules.get(name), new.rules.get(name)) for name in names}
    read_anew = {name: pair for name, pair in pairs.items() if pair[0] is not pair[1]}
    changed = {name for name, pair in read_anew.items() if _unlike(_placeless, *pair)}
    fire = {name for name in changed if _unlike(_fires, *pairs[name])}
    for closure in (before, after):
        for name in fire & set(closure.rulebase.rules):
            fire = fire.union(closure.reached_by_rule(name))
    speak = fire.union(name for name in changed if _unlike(_speaks, *pairs[name]))
    versions = [rule for name in speak for rule in pairs[name] if rule is not None]
    causes = {each for rule in versions for each in (*rule.evidence_for, *rule.evidence_against)}
    return Reached(frozenset(changed | fire), frozenset(causes))


def _unlike(view: Callable[[Rule], object], one: Rule | None, other: Rule | None) -> bool:
    """Whether two versions of a rule differ in something; where there is only one, they do."""
    return one is None or other is None or view(one) != view(other)


def _fires(rule: Rule) -> object:
    """What decides where a rule fires and what that tells other rules."""
    return _placeless((rule.when, rule.unless, rule.concludes, rule.applies))


def _speaks(rule: Rule) -> object:
    return rule.evidence_for, rule.evidence_against


def _placeless(value: object) -> object:
    """A value made of models, without the places in files."""
    if isinstance(value, tuple):
        return tuple(map(_placeless, value))
    if is_dataclass(value):
        names = (each.name for each in fields(value) if each.compare)
        parts = (getattr(value, name) for name in names)
        return tuple(_placeless(part) for part in parts if not isinstance(part, Place))
    return value


def _without_rules(base: Rulebase) -> Rulebase:
    return replace(base, rules={}, info=PackInfo("", ""))
