"""A rule's test may say how surely causes are then found, by all rules together."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from expert.author.rule_tests import Outcome, run_rule_tests
from expert.author.scenarios.failure_lines import rule_test_lines
from expert.author.scenarios.run_rule_tests import run_in_closures
from expert.errors import PackError
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
TEST = "{differential: 8 psi, slow: yes}, expect: fires"


def outcome(base: Rulebase) -> Outcome:
    return next(each for each in run_in_closures(base) if each.test.finds)


@pytest.mark.parametrize(
    ("finds", "passed"),
    [
        ("{set-low: likely}", True),
        ("{set-low: likely, left-iced: not found}", True),
        ("{set-low: possible}", False),
        ("{left-iced: likely}", False),
    ],
)
def test_a_test_passes_only_where_its_causes_are_found_as_it_says(
    load_tiny: LoadTiny, finds: str, passed: bool
) -> None:
    base = load_tiny(TEST, f"{TEST}, finds: {finds}")
    assert outcome(base).passed is passed


@pytest.mark.parametrize(
    ("strength", "word", "passed"),
    [
        ("weak", "weak against", True),
        ("strong", "strong against", True),
        ("strong", "not found", True),
        ("strong", "weak against", False),
        ("weak", "possible", False),
    ],
)
def test_a_test_may_say_how_strongly_rules_speak_against_a_cause(
    load_tiny: LoadTiny, strength: str, word: str, passed: bool
) -> None:
    cold = "{rise: 2 F, slow: yes}, expect: fires"
    stronger = ("against: {set-low: weak}", f"against: {{set-low: {strength}}}")
    base = load_tiny(*stronger, cold, f"{cold}, finds: {{set-low: {word}}}")
    assert outcome(base).passed is passed


def test_all_rules_count_and_not_only_the_one_of_the_test(load_tiny: LoadTiny) -> None:
    both = "{differential: 8 psi, slow: yes, rise: 2 F}, expect: fires"
    base = load_tiny("{weak: 0.3", "{weak: 0.7", TEST, f"{both}, finds: {{set-low: not found}}")
    assert outcome(base).passed


def test_the_slice_comes_to_the_same_as_the_whole(load_tiny: LoadTiny) -> None:
    base = load_tiny(TEST, f"{TEST}, finds: {{set-low: possible, left-iced: likely}}")
    whole = next(each for each in run_rule_tests(base, "plain") if each.test.finds)
    assert outcome(base).found == whole.found == {"set-low": "likely", "left-iced": "not found"}


def test_a_cause_found_otherwise_is_told_with_the_rules_that_bear_on_it(
    load_tiny: LoadTiny,
) -> None:
    base = load_tiny(TEST, f"{TEST}, finds: {{set-low: possible}}")
    told = list(rule_test_lines(outcome(base), base))
    assert told[0].endswith("low-and-slow: set-low: likely, expected possible")
    assert told[1].startswith("    set-low: low-and-slow fires, strong for it, ")


@pytest.mark.parametrize(
    ("finds", "said"),
    [
        ("{set-lo: likely}", "Did you mean 'set-low'?"),
        ("{set-low: likly}", "Did you mean 'likely'?"),
        ("likely", "'finds' must be 'cause: word' lines."),
    ],
)
def test_what_cannot_be_found_is_refused_with_a_hint(
    load_tiny: LoadTiny, finds: str, said: str
) -> None:
    with pytest.raises(PackError) as caught:
        load_tiny(TEST, f"{TEST}, finds: {finds}")
    assert said in str(caught.value)
