"""Tests proposed for conditions on which no rule has hung: each is true and shows what it says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from expert.author.coverage.untried import coverage
from expert.author.proposals.propose import propose_cases
from expert.author.scenarios.run_rule_tests import run_in_closures
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
RULES = """\
  - id: either
    when: [{any: [rise is low, valve is half open]}, slow]
    unless: [differential is low]
    evidence_for: {set-low: weak}
    because: Either will do.
    source: from memory
    tests:
      - {given: {rise: 2 F, slow: yes}, expect: fires}
"""


def lacking(base: Rulebase, rule: str) -> set[str]:
    return {gap.id for gap in coverage(base).gaps if gap.id.startswith(f"{rule} / ")}


def test_what_is_proposed_shows_every_condition_of_a_rule(with_rules: LoadTiny) -> None:
    base = with_rules(RULES)
    before = lacking(base, "either")
    assert "either / valve is half open / never decisive" in before
    assert "either / unless differential is low / never false" in before
    found = propose_cases(base, (), (), "either")
    rule = base.rules["either"]
    tests = (*rule.tests, *(each.test for each in found))
    after = replace(base, rules={**base.rules, "either": replace(rule, tests=tests)})
    assert all(outcome.passed for outcome in run_in_closures(after))
    assert lacking(after, "either") == set()


def test_each_proposal_shows_something_that_no_other_does(with_rules: LoadTiny) -> None:
    base = with_rules(RULES)
    found = propose_cases(base, (), (), "either")
    rule = base.rules["either"]
    for left in found:
        tests = (*rule.tests, *(each.test for each in found if each is not left))
        less = replace(base, rules={**base.rules, "either": replace(rule, tests=tests)})
        assert lacking(less, "either"), left.lines()


def test_nothing_is_proposed_where_proposals_already_show_it(with_rules: LoadTiny) -> None:
    base = with_rules(RULES)
    found = propose_cases(base, (), (), "either")
    assert propose_cases(base, (), found, "either") == []


def test_a_proposal_says_what_it_is_for(with_rules: LoadTiny) -> None:
    reasons = {each.reason for each in propose_cases(with_rules(RULES), (), (), "either")}
    assert any(reason.startswith("differential is low: never true") for reason in reasons)
