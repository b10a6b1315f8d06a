"""Proposes what a test should find, where nothing notices that evidence is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from expert.author.mutation.mutants import Mutant, with_mutant
from expert.author.rule_tests import evaluator_for, found_of, outcome_of
from expert.author.search.rule_closure import RuleClosure
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.rule_test_model import Given, RuleTest

_TRIES = 60  # cases put together from the tests of two rules


class FindsProposer:
    """For wrong evidence of a rule: a case that fires it, and how sure the cause then is."""

    def __init__(self, rulebase: Rulebase, closure: RuleClosure):
        self.rulebase = rulebase
        self.closure = closure

    def propose(self, mutant: Mutant) -> tuple[RuleTest, RuleTest | None] | None:
        """A test with what it finds, and the test that is there already without that, if one is.

        None where no test of the rule, alone or with one of a rule for the same cause, tells.
        """
        assert mutant.rule is not None
        rule = self.rulebase.rules[mutant.rule.id]
        for cause in _changed(rule, mutant.rule):
            for test, old in islice(self._cases(rule, cause), _TRIES):
                asked = replace(test, finds={cause: ""})
                about = self.closure.about(cause)
                word = found_of(asked, evaluator_for(asked, about, "plain", {}))
                other = with_mutant(about, mutant)
                if found_of(asked, evaluator_for(asked, other, "plain", {})) != word:
                    return replace(test, finds={**test.finds, **word}), old
        return None

    def _cases(self, rule: Rule, cause: str) -> Iterator[tuple[RuleTest, RuleTest | None]]:
        """Tests that fire a rule, as they stand, then with what fires another for the cause."""
        firing = [test for test in rule.tests if test.expect == "fires"]
        for test in firing:
            yield (replace(test, finds={}), None) if test.finds else (test, test)
        for other in self.closure.bearing_on(cause):
            if other.id == rule.id or cause not in other.evidence_for:
                continue
            for test in firing:
                for more in other.tests:
                    given = _together(test, more) if more.expect == "fires" else None
                    if given is None:
                        continue
                    joined = replace(test, given=given, finds={}, edge="")
                    if self._fires(rule, joined) and self._fires(other, joined):
                        yield joined, None

    def _fires(self, rule: Rule, test: RuleTest) -> bool:
        part = self.closure.of(rule.id)
        return outcome_of(rule, test, evaluator_for(test, part, "plain", {})) == "fires"


def _changed(old: Rule, new: Rule) -> tuple[str, ...]:
    """The causes for which the evidence of a rule is another."""
    causes = dict.fromkeys((*old.evidence_for, *old.evidence_against))
    return tuple(
        cause
        for cause in causes
        if old.evidence_for.get(cause) != new.evidence_for.get(cause)
        or old.evidence_against.get(cause) != new.evidence_against.get(cause)
    )


def _together(one: RuleTest, other: RuleTest) -> tuple[Given, ...] | None:
    """What two tests give, where they agree; None where they do not."""
    if one.facts != other.facts:
        return None
    found = {(g.name, g.kind, g.subject, g.stage): g for g in one.given}
    for given in other.given:
        key = (given.name, given.kind, given.subject, given.stage)
        if key in found and found[key].texts != given.texts:
            return None
        found.setdefault(key, given)
    return tuple(found.values())
