"""Mutation testing of knowledge: is a wrong rule or limit noticed by some test?"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from expert.author.mutation.mutants import HEADS, Mutant, with_mutant
from expert.author.mutation.rejudge import (
    EvaluatedCase,
    fails,
    fails_with_gate,
    fails_with_limit,
    fails_with_rule,
    prepare,
)
from expert.author.rule_tests import evaluator_for, found_of, outcome_of
from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.author.scenarios.run_rule_tests import FoundInClosure
from expert.author.search.rule_closure import RuleClosure
from expert.inference.evaluate import Evaluator
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.rule_test_model import RuleTest


class Trial:
    """Tries mutants of one rulebase against its rule tests and some scenarios.

    A test or scenario that fails already says nothing and is left out.
    """

    def __init__(self, rulebase: Rulebase, scenarios: Iterable[Scenario] = ()):
        self.rulebase = rulebase
        self.closure = RuleClosure(rulebase)
        found = FoundInClosure(self.closure)
        self._tests = {
            rule.id: tuple(test for test in rule.tests if self._passes(rule, test, found))
            for rule in rulebase.rules.values()
        }
        self._finding: dict[str, list[RuleTest]] = {}
        for tests in self._tests.values():
            for test in tests:
                self._keep_finding(test)
        scenario_runner = ScenarioRunner(rulebase, "plain")
        cases = (prepare(scenario, scenario_runner.evaluator(scenario)) for scenario in scenarios)
        self._cases = tuple(case for case in cases if not fails(case))

    def noticed(self, mutant: Mutant) -> str:
        """The place of the first test or scenario whose outcome a mutant changes, or nothing."""
        for place in self._by_rule_tests(mutant):
            return place
        for case in self._cases:
            if self._fails(mutant, case):
                return str(case.scenario.place)
        return ""

    def _passes(self, rule: Rule, test: RuleTest, found: FoundInClosure) -> bool:
        evaluator = evaluator_for(test, self.closure.of(rule.id), "plain", {})
        does = outcome_of(rule, test, evaluator) == test.expect
        return does and found(test) == test.finds

    def add(self, rule_id: str, test: RuleTest) -> None:
        """Try mutants against one more test of a rule."""
        self._tests[rule_id] = (*self._tests[rule_id], test)
        self._keep_finding(test)

    def _keep_finding(self, test: RuleTest) -> None:
        for cause in test.finds:
            self._finding.setdefault(cause, []).append(test)

    def _by_rule_tests(self, mutant: Mutant) -> Iterator[str]:
        if mutant.kind in HEADS:
            yield from self._by_finds(mutant)
        if mutant.kind in HEADS or mutant.gate is not None:
            return
        if mutant.rule is not None:
            names = self.closure.reached_by_rule(mutant.rule.id)
        else:
            assert mutant.limit is not None
            names = self.closure.reached_by_limit(mutant.limit.quantity)
        for name in names:
            part = with_mutant(self.closure.of(name), mutant)
            made: dict[object, Evaluator] = {}
            for test in self._tests[name]:
                evaluator = evaluator_for(test, part, "plain", made)
                if outcome_of(part.rules[name], test, evaluator) != test.expect:
                    yield str(test.place)

    def _by_finds(self, mutant: Mutant) -> Iterator[str]:
        """Tests that say how surely a cause is found, on which the mutant bears."""
        assert mutant.rule is not None
        old = self.rulebase.rules[mutant.rule.id]
        for cause in (*old.evidence_for, *old.evidence_against):
            changed = with_mutant(self.closure.about(cause), mutant)
            made: dict[object, Evaluator] = {}
            for test in self._finding.get(cause, ()):
                found = found_of(test, evaluator_for(test, changed, "plain", made), (cause,))
                if found[cause] != test.finds[cause]:
                    yield str(test.place)

    def _fails(self, mutant: Mutant, case: EvaluatedCase) -> bool:
        if mutant.rule is not None:
            return fails_with_rule(case, mutant.rule, self.closure)
        if mutant.limit is not None:
            return fails_with_limit(case, mutant.limit, self.closure)
        assert mutant.gate is not None
        return fails_with_gate(case, mutant.gate, self.rulebase)
