"""Runs the tests beside the rules, each rule in its closure: a thousand rules in about a second.

After a change only the rules that it can reach are run again: an edit is judged while one looks up.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from expert.author.rule_tests import Outcome, evaluator_for, found_of, named, outcome_of
from expert.author.search.rule_closure import RuleClosure
from expert.inference.evaluate import Evaluator
from expert.inference.make_engine import Backend
from expert.knowledge.model import Rule, Rulebase, RuleTest
from expert.knowledge.pack_model import PackInfo


class FoundInClosure:
    """How surely the causes are found that tests ask for; rules for one cause share evaluators."""

    def __init__(self, closure: RuleClosure, backend: Backend = "plain") -> None:
        self._closure = closure
        self._backend = backend
        self._made: dict[int, dict[object, Evaluator]] = {}  # the closure holds what has the id

    def __call__(self, rule_id: str, test: RuleTest) -> dict[str, str]:
        """The words for the certainty of each cause that a test of a rule asks for."""
        if not test.finds:
            return {}
        wide = self._closure.wide(rule_id, tuple(test.finds))
        made = self._made.setdefault(id(wide), {})
        return found_of(test, evaluator_for(test, wide, self._backend, made))


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
        if self._closure is not None:
            for name in reached_by_change(self._closure, closure):
                self._outcomes.pop(name, None)
        self._closure = closure
        found = FoundInClosure(closure, self._backend)
        chosen = [rule for rule in rulebase.rules.values() if named(rule, only)]
        for rule in chosen:
            if rule.id not in self._outcomes:
                self._outcomes[rule.id] = tuple(self._run(rule, closure, found))
        return tuple(outcome for rule in chosen for outcome in self._outcomes[rule.id])

    def _run(self, rule: Rule, closure: RuleClosure, found: FoundInClosure) -> Iterable[Outcome]:
        made: dict[object, Evaluator] = {}
        for test in rule.tests:
            evaluator = evaluator_for(test, closure.of(rule.id), self._backend, made)
            does = outcome_of(rule, test, evaluator)
            yield Outcome(rule, test, does, found(rule.id, test))


def run_in_closures(rulebase: Rulebase, backend: Backend = "plain") -> tuple[Outcome, ...]:
    """Every test of every rule, in the order of the files; the same as on the whole rulebase."""
    return RuleTestRunner(backend).run(rulebase)


def reached_by_change(before: RuleClosure, after: RuleClosure) -> set[str]:
    """The rules whose tests may come out otherwise than before, or are written otherwise.

    Where more than rules changed, these are all.
    """
    old, new = before.rulebase, after.rulebase
    if _without_rules(old) != _without_rules(new):
        return {*old.rules, *new.rules}
    names = {*old.rules, *new.rules}
    changed = {name for name in names if old.rules.get(name) != new.rules.get(name)}
    reached = set(changed)
    fires_otherwise = {n for n in changed if _fires(old.rules.get(n)) != _fires(new.rules.get(n))}
    for closure in (before, after):
        for name in fires_otherwise & set(closure.rulebase.rules):
            reached.update(closure.reached_by_rule(name))
    causes = {
        cause
        for base in (old, new)
        for name in reached & set(base.rules)
        for cause in (*base.rules[name].evidence_for, *base.rules[name].evidence_against)
    }
    asking = (
        rule.id
        for rule in new.rules.values()
        if any(cause in causes for test in rule.tests for cause in test.finds)
    )
    return reached.union(asking)


def _fires(rule: Rule | None) -> object:
    """What decides where a rule fires and what that tells other rules."""
    return rule and (rule.when, rule.unless, rule.concludes, rule.applies)


def _without_rules(base: Rulebase) -> Rulebase:
    return replace(base, rules={}, info=PackInfo("", ""))
