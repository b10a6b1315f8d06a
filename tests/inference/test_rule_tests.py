"""The tests that stand beside the rules say what they found, and where."""

from __future__ import annotations

import pytest
from tiny_rulebase import LoadTiny

from expert.author.rule_tests import run_rule_tests
from expert.inference.make_engine import Backend
from expert.knowledge.model import Rulebase


@pytest.mark.parametrize("backend", ["plain", "auto"])
def test_the_tests_of_the_tiny_rulebase_pass(tiny: Rulebase, backend: Backend) -> None:
    outcomes = run_rule_tests(tiny, backend)
    assert len(outcomes) == 7
    assert [str(outcome) for outcome in outcomes if not outcome.passed] == []


def test_a_failing_test_is_told_with_its_place_and_both_verdicts(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "{clearing_time: 10 min}, expect: silent", "{clearing_time: 10 min}, expect: fires"
    )
    (failed,) = [outcome for outcome in run_rule_tests(base, "plain") if not outcome.passed]
    assert str(failed).endswith("slow-by-the-clock: silent, expected fires")
    assert f":{failed.test.place.line}:" in str(failed)


def test_a_reading_of_a_test_has_the_accuracy_of_its_instrument(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "{clearing_time: 10 min}, expect: silent", "{clearing_time: 18.5 min}, expect: undecided"
    )
    assert all(outcome.passed for outcome in run_rule_tests(base, "plain"))


def test_a_rule_for_another_application_is_silent_in_a_test(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "{clearing_time: 24 min}, expect: fires}",
        "{clearing_time: 24 min}, expect: silent, facts: {defrost: electric}}",
        "    concludes: [slow]", "    concludes: [slow]\n    applies: {defrost: hot gas}",
    )  # fmt: skip
    assert all(outcome.passed for outcome in run_rule_tests(base, "plain"))


def test_an_unknown_sign_leaves_a_rule_undecided_and_a_denied_one_silent(
    load_tiny: LoadTiny,
) -> None:
    base = load_tiny("{differential: 17 psi, slow: yes}, expect: silent",
                     "{differential: 8 psi}, expect: undecided")  # fmt: skip
    assert all(outcome.passed for outcome in run_rule_tests(base, "plain"))
    base = load_tiny("{differential: 17 psi, slow: yes}, expect: silent",
                     "{differential: 8 psi, slow: no}, expect: silent")  # fmt: skip
    assert all(outcome.passed for outcome in run_rule_tests(base, "plain"))
