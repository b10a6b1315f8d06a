"""Failures in lines that a lead can act on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from expert.author.rule_tests import run_rule_tests
from expert.author.scenarios.failure_lines import rule_test_lines, scenario_lines
from expert.author.scenarios.read import ScenarioRunner, read_scenario
from expert.author.scenarios.verdict import judge_scenario
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]


def failed_lines(base: Rulebase) -> list[str]:
    (outcome,) = [each for each in run_rule_tests(base, "plain") if not each.passed]
    return list(rule_test_lines(outcome, base))


def scenario_text(base: Rulebase, path: Path) -> str:
    bench = ScenarioRunner(base, "plain")
    outcome = judge_scenario(read_scenario(path, base), bench)
    return "\n".join(scenario_lines(outcome, bench))


def test_a_failed_rule_test_shows_each_condition_with_what_it_met(load_tiny: LoadTiny) -> None:
    base = load_tiny("{differential: 8 psi, slow: yes}", "{differential: 17 psi, valve: open}")
    place, *conditions = failed_lines(base)
    assert place.endswith("low-and-slow: silent, expected fires")
    assert conditions[0].startswith("    fails: differential is low: it is 17.0 psi")
    assert conditions[1] == "    open : the coil clears slowly: not known."


def test_a_failed_rule_test_shows_exceptions_as_such(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "{clearing_time: 24 min}, expect", "{clearing_time: 24 min, valve: half open}, expect"
    )
    assert "    holds: unless Valve: half open." in failed_lines(base)


def test_a_rule_that_is_not_for_the_subject_of_its_test_is_told(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "    when: [differential is low, slow]\n",
        "    when: [differential is low, slow]\n    applies: {defrost: electric}\n",
    )
    outcomes = [each for each in run_rule_tests(base, "plain") if not each.passed]
    assert "leaves this test's subject out" in "\n".join(rule_test_lines(outcomes[0], base))


def test_a_cause_not_found_shows_its_nearest_rules_and_what_came_first(
    tiny: Rulebase, write_scenario: Callable[..., Path]
) -> None:
    path = write_scenario("{first: set-low}", rise="2 F", clearing_time="10 min")
    text = scenario_text(tiny, path)
    assert "expected first: set-low" in text
    assert "but got  left-iced (0.50)" not in text  # 'not slow' stops cold-line
    assert "but got  nothing was found" in text
    assert "low-and-slow, for it (0.75): silent" in text
    assert "fails: the coil clears slowly: not so." in text


def test_a_cause_that_came_first_in_its_place_is_told_with_its_rules(
    tiny: Rulebase, write_scenario: Callable[..., Path]
) -> None:
    text = scenario_text(tiny, write_scenario("{first: set-low}", rise="2 F"))
    assert "'Coil left iced' came first, because of:" in text
    assert "cold-line (0.50)" in text


def test_a_cause_that_must_never_be_found_shows_what_found_it(
    tiny: Rulebase, write_scenario: Callable[..., Path]
) -> None:
    text = scenario_text(tiny, write_scenario("{never: [left-iced]}", rise="2 F"))
    assert "'Coil left iced' is likely (0.50), because of:" in text
    assert "cold-line, for it (0.50): fires" in text
