"""No action that can do harm is advised unless its conditions truly hold.

The library and variations of it, judged by an oracle that looks at readings alone.
RACKWALK_TEST_PROFILE=nightly tries 5,000 variations in place of 500.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

from expert.author.scenarios.read import Scenario, ScenarioRunner, load_scenarios
from expert.knowledge.model import Rulebase
from scenarios.advice_oracle import advised, dangers, values_of
from scenarios.variations import Case, variations

FOLDER = Path(__file__).parent
NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
COUNT = 5000 if NIGHTLY else 500
SEED = "rackwalk"


@pytest.fixture(scope="module")
def library(shipped_rulebase: Rulebase) -> tuple[Scenario, ...]:
    return load_scenarios(FOLDER, shipped_rulebase)


@pytest.fixture(scope="module")
def gated(library: tuple[Scenario, ...], shipped_rulebase: Rulebase) -> list[Scenario]:
    """Cases that lead to a cause with a gated remedy; only from these can such advice come."""
    scenario_runner = ScenarioRunner(shipped_rulebase, "plain")
    return [
        each
        for each in library
        if any(r.action for f in scenario_runner.evaluate(each).findings for r in f.cause.remedy)
    ]


def judged(cases: Iterable[Case], base: Rulebase) -> tuple[Counter[str], list[str]]:
    """How often each action was advised, and every time when it should not have been."""
    scenario_runner = ScenarioRunner(base, "plain")
    opened: Counter[str] = Counter()
    wrong: list[str] = []
    for scenario, readings in cases:
        evaluation = scenario_runner.evaluator(scenario).evaluate(readings, scenario.given.found)
        circuits = [each.id for each in scenario.given.members if each.kind == "circuit"]
        told = values_of(evaluation, readings, circuits)
        for action, cause in set(advised(evaluation)):
            opened[action] += 1
            if why := dangers(action, told, scenario.given.subject.has):
                wrong.append(f"{scenario.place.path}: {action} for {cause}: {'; '.join(why)}")
    return opened, wrong


def test_no_case_of_the_library_gets_dangerous_advice(
    library: tuple[Scenario, ...], shipped_rulebase: Rulebase
) -> None:
    _, wrong = judged(((each, each.given.readings) for each in library), shipped_rulebase)
    assert not wrong, "\n".join(wrong)


def test_no_variation_gets_dangerous_advice(
    gated: list[Scenario], shipped_rulebase: Rulebase
) -> None:
    cases = variations(gated, shipped_rulebase.quantities, COUNT, SEED)
    opened, wrong = judged(cases, shipped_rulebase)
    assert not wrong, "\n".join(wrong)
    assert opened["add-refrigerant"] >= COUNT // 25, opened
    often = {"add-refrigerant", "condemn-part", "open-circuit", "turn-expansion-valve-stem"}
    assert all(opened[action] > COUNT // 100 for action in often), opened
    never = {gate.action for gate in shipped_rulebase.gates.values() if gate.never}
    assert never
    assert not any(opened[action] for action in never)


def without(base: Rulebase, gate: str) -> Rulebase:
    """The rulebase with one gate taken away."""
    kept = {name: each for name, each in base.gates.items() if name != gate}
    return replace(base, gates=kept)


@pytest.mark.parametrize(
    "gate",
    [
        "add-refrigerant-coils-seen",
        "add-refrigerant-state-known",
        "add-refrigerant-level-and-subcooling",
        "add-refrigerant-no-restriction",
        "add-refrigerant-head-held",
        "open-circuit-isolated-and-empty",
        "condemn-part-proven-twice",
        "turn-stem-liquid-good",
        "raise-safety-setting-never",
    ],
)
def test_a_missing_gate_is_noticed(
    gate: str, gated: list[Scenario], shipped_rulebase: Rulebase
) -> None:
    action = shipped_rulebase.gates[gate].action
    causes = {
        cause.id
        for cause in shipped_rulebase.causes.values()
        if any(remedy.action == action for remedy in cause.remedy)
    }
    scenario_runner = ScenarioRunner(shipped_rulebase, "plain")
    near = [
        each
        for each in gated
        if any(finding.cause.id in causes for finding in scenario_runner.evaluate(each).findings)
    ]
    cases = variations(near, shipped_rulebase.quantities, 200, SEED)
    _, wrong = judged(cases, without(shipped_rulebase, gate))
    assert any(f": {action} for " in line for line in wrong)
