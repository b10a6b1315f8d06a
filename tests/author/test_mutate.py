"""A mutant is noticed when a rule test or a scenario comes out otherwise, and only then."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pytest
from budget import at_night
from shipped_knowledge import proven_in_closures, shipped_cases

from expert.author.mutation.mutants import Mutant, mutants
from expert.author.mutation.trial import Trial
from expert.author.rule_tests import evaluator_for, outcome_of, run_rule_tests
from expert.author.scenarios.read import Scenario, ScenarioRunner, read_scenario
from expert.author.scenarios.verdict import unmet
from expert.author.search.rule_closure import RuleClosure
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import each_finding
from expert.inference.findings import findings_of
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
CASES = (
    ("{first: set-low, certainty: {set-low: likely}}",
     {"differential": "8 psi", "clearing_time": "24 min"}),
    ("{first: left-iced, never: [set-low]}", {"rise": "2 F"}),
    ("{first: set-low, also: [left-iced]}",
     {"differential": "12 psi", "clearing_time": "24 min", "rise": "2 F"}),
    ("{none: yes}", {"differential": "8 psi", "clearing_time": "24 min", "valve": "shut"}),
    ("{none: yes}", {"differential": "8 psi", "clearing_time": "24 min", "valve": "half open"}),
    ("{undecided: yes}", {"differential": "8 psi"}),
)  # fmt: skip


@pytest.fixture
def cases(tiny: Rulebase, write_scenario: Callable[..., Path]) -> list[Scenario]:
    return [read_scenario(write_scenario(expect, **told), tiny) for expect, told in CASES]


def changed(base: Rulebase, mutant: Mutant) -> Rulebase:
    """The whole rulebase with a mutant in it."""
    if mutant.rule is not None:
        return replace(base, rules={**base.rules, mutant.rule.id: mutant.rule})
    if mutant.limit is not None:
        limit = mutant.limit
        limits = tuple(limit if each.id == limit.id else each for each in base.limits)
        return replace(base, limits=limits)
    assert mutant.gate is not None
    return replace(base, gates={**base.gates, mutant.gate.id: mutant.gate})


def slow_way(base: Rulebase, mutant: Mutant, scenarios: list[Scenario]) -> bool:
    """Whether a mutant is noticed, worked out from the whole rulebase without any short cut."""
    new = changed(base, mutant)
    if any(not outcome.passed for outcome in run_rule_tests(new, "plain")):
        return True
    bench = ScenarioRunner(new, "plain")
    return any(unmet(each.expect, bench.evaluate(each)) for each in scenarios)


def test_short_cuts_come_to_the_same_as_the_whole_rulebase(
    tiny: Rulebase, cases: list[Scenario]
) -> None:
    trial = Trial(tiny, cases)
    for mutant in mutants(tiny):
        assert bool(trial.noticed(mutant)) == slow_way(tiny, mutant, cases), mutant


@at_night
def test_short_cuts_come_to_the_same_on_the_shipped_rulebase(
    shipped_rulebase: Rulebase, nightly: bool
) -> None:
    every = shipped_cases()
    cases = list(every[:: 1 if nightly else 60])
    trial = Trial(shipped_rulebase, cases)
    alone = Trial(shipped_rulebase)
    every_mutant = list(mutants(shipped_rulebase))
    random.Random(5).shuffle(every_mutant)
    survivors = (mutant for mutant in every_mutant if not alone.noticed(mutant))
    for mutant in islice(survivors, 200 if nightly else 2):
        bench = ScenarioRunner(changed(shipped_rulebase, mutant), "plain")
        slow = any(unmet(each.expect, bench.evaluate(each)) for each in cases)
        assert bool(trial.noticed(mutant)) == slow, mutant


def test_findings_without_sentences_are_those_of_the_evaluation(
    shipped_rulebase: Rulebase, nightly: bool
) -> None:
    bench = ScenarioRunner(shipped_rulebase, "plain")
    for scenario in shipped_cases()[:: 1 if nightly else 60]:
        evaluation = bench.evaluate(scenario)
        evaluator, given = bench.evaluator(scenario), scenario.given
        facts, _ = evaluator.facts(given.readings, given.found)
        fired = evaluator.run(facts)
        quick = findings_of(fired, shipped_rulebase, evaluator.influences(facts))
        whole = {each.cause.id: each for each in each_finding(evaluation.findings)}
        assert {name: (f.certainty, f.words) for name, f in quick.items()} == {
            name: (f.certainty, f.words) for name, f in whole.items()
        }


def test_a_rule_does_in_its_slice_what_it_does_in_the_whole(
    shipped_rulebase: Rulebase, nightly: bool
) -> None:
    made: dict[object, Evaluator] = {}
    for outcome in proven_in_closures()[:: 1 if nightly else 45]:
        whole = evaluator_for(outcome.test, shipped_rulebase, "plain", made)
        assert outcome_of(outcome.rule, outcome.test, whole) == outcome.got, outcome


def test_a_slice_holds_what_concludes_the_signs_and_what_limits_need(tiny: Rulebase) -> None:
    part = RuleClosure(tiny).of("low-and-slow")
    assert set(part.rules) == {"low-and-slow", "slow-by-the-clock"}
    assert set(part.quantities) == {
        "differential", "upper_pressure", "lower_pressure", "clearing_time", "valve",
    }  # fmt: skip
    assert {limit.id for limit in part.limits} == {"differential-limit", "clearing-limit"}


def test_a_mutant_that_a_rule_test_kills_is_told_with_the_place_of_the_test(
    tiny: Rulebase,
) -> None:
    mutant = next(m for m in mutants(tiny) if m.what == "'clearing_time is high' dropped")
    assert Trial(tiny).noticed(mutant) == str(tiny.rules["slow-by-the-clock"].tests[1].place)


def test_a_mutant_that_nothing_notices_survives(tiny: Rulebase) -> None:
    mutant = next(m for m in mutants(tiny) if m.kind == "conclusion dropped")
    assert Trial(tiny).noticed(mutant) == ""


def test_a_scenario_notices_a_chain_that_is_broken(tiny: Rulebase, cases: list[Scenario]) -> None:
    mutant = next(m for m in mutants(tiny) if m.kind == "conclusion dropped")
    assert "case.yaml" in Trial(tiny, cases).noticed(mutant)


def test_a_test_that_fails_already_notices_nothing(load_tiny: LoadTiny) -> None:
    base = load_tiny(
        "{clearing_time: 10 min}, expect: silent", "{clearing_time: 10 min}, expect: fires"
    )
    mutant = next(m for m in mutants(base) if m.what == "'clearing_time is high' dropped")
    assert Trial(base).noticed(mutant) == str(base.rules["slow-by-the-clock"].tests[2].place)


def test_a_gate_that_asks_for_less_is_noticed_by_advice_that_must_be_held(
    load_tiny: LoadTiny, write_scenario: Callable[..., Path]
) -> None:
    gate = "gates:\n  - {id: g, action: turn-stem, needs: [valve is open], first: Look.,"
    gate += " source: from memory}\ncautions:\n  - {id: hot"
    remedy = "do: [{action: turn-stem, text: Turn it.}]"
    base = load_tiny("cautions:\n  - {id: hot", gate, "do: [Turn it.]", remedy)
    told = {"differential": "8 psi", "clearing_time": "24 min"}
    scenario = read_scenario(write_scenario("{advice_held: [turn-stem]}", **told), base)
    mutant = next(m for m in mutants(base) if m.gate is not None)
    assert Trial(base).noticed(mutant) == ""
    assert Trial(base, [scenario]).noticed(mutant)
