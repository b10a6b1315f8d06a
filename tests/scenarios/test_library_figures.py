"""The library as a whole: how often the right cause comes first, and what one error does.

RACKWALK_TEST_PROFILE=nightly takes every case for the errors, in place of every ninth.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from budget import NIGHTLY, step
from shipped_knowledge import cases_judged, shipped_cases

from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.units.kinds import ATMOSPHERE
from scenarios.library_figures import Ranks, first_cause, moved, one_wrong, ranks


@pytest.fixture(scope="module")
def scenario_runner() -> ScenarioRunner:
    return cases_judged()


@pytest.fixture(scope="module")
def library() -> tuple[Scenario, ...]:
    return shipped_cases()


@pytest.fixture(scope="module")
def told(library: tuple[Scenario, ...], scenario_runner: ScenarioRunner) -> Ranks:
    return ranks(library, scenario_runner)


def test_the_right_cause_comes_first_in_nearly_all_cases(told: Ranks) -> None:
    assert told.judged > 250
    assert told.first >= 0.95 * told.judged, told.late
    assert told.in_three >= 0.99 * told.judged, told.late


def test_healthy_cases_have_no_finding(told: Ranks) -> None:
    assert told.healthy > 30
    assert told.silent == told.healthy


HIGH_SIDE = ("charge", "condenser", "head-pressure", "heat-reclaim", "liquid")
HOT = "discharge_line_temperature"


def test_a_hot_discharge_line_takes_the_first_place_from_no_case_of_high_side_or_liquid(
    library: tuple[Scenario, ...], scenario_runner: ScenarioRunner
) -> None:
    """235 F put into each of them; it is an effect, and no case is about it."""
    hot = accept(scenario_runner.rulebase.quantities[HOT], "235 F", ATMOSPHERE)
    tried, lost = 0, []
    for scenario in library[:: step(4)]:
        given, right = scenario.given, {scenario.expect.first, *scenario.expect.tied} - {""}
        evaluator = scenario_runner.evaluator(scenario)
        if Path(scenario.place.path).parent.name not in HIGH_SIDE or not right:
            continue
        if first_cause(evaluator, given.readings, given.found) not in right:
            continue
        tried += 1
        kept = tuple(each for each in given.readings if each.quantity != HOT)
        if (first := first_cause(evaluator, (*kept, hot), given.found)) not in right:
            lost.append((Path(scenario.place.path).stem, first))
    assert tried > 100 // step(4)
    assert not lost


def test_one_wrong_reading_is_mostly_harmless_and_else_mostly_named(
    library: tuple[Scenario, ...], scenario_runner: ScenarioRunner
) -> None:
    cases = library if NIGHTLY else [each for each in library if each.expect.first][::9]
    told = one_wrong(cases, scenario_runner)
    assert told.right >= 0.9 * told.moved
    assert told.wrong > 5
    assert told.named >= 0.7 * told.wrong, told.missed


def test_few_readings_are_named_where_none_is_wrong(
    library: tuple[Scenario, ...], scenario_runner: ScenarioRunner
) -> None:
    """An alarm at every case would be none; at most two names, and in most cases none."""
    cases = [each for each in library if each.expect.first or each.expect.none][:: step(30)]
    named = [len(scenario_runner.evaluate(each).doubts) for each in cases]
    assert max(named) <= 2
    assert sum(named) <= 0.6 * len(named)


def test_what_is_named_really_turns_the_finding(
    library: tuple[Scenario, ...], scenario_runner: ScenarioRunner
) -> None:
    """What a doubt says is tried: moved by five, the reading brings another cause first."""
    tried = 0
    for scenario in [each for each in library if each.expect.first][:: 5 * step(2)]:
        evaluator, told = scenario_runner.evaluator(scenario), scenario.given
        before = first_cause(evaluator, told.readings, told.found)
        for doubt in scenario_runner.evaluate(scenario).doubts:
            if "rests on it" not in doubt.why:
                continue
            tried += 1
            quantities = scenario_runner.rulebase.quantities
            turned = [
                first_cause(evaluator, changed, told.found)
                for index, changed in moved(told.readings, quantities.__getitem__, 5.0)
                if told.readings[index].quantity == doubt.quantity.id
            ]
            assert set(turned) - {before}, doubt.why
    assert tried > 5


def test_without_plausible_errors_and_contradictions_nothing_is_named(
    library: tuple[Scenario, ...], shipped_rulebase: Rulebase
) -> None:
    """So that the figures above are those of the facts in the rulebase."""
    rules = {name: replace(rule, doubts=()) for name, rule in shipped_rulebase.rules.items()}
    bare = ScenarioRunner(replace(shipped_rulebase, rules=rules, plausible_errors={}), "plain")
    cases = [each for each in library if each.expect.first][:: 40 * step(4)]
    assert not any(bare.evaluate(each).doubts for each in cases)
