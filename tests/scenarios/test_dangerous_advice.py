"""No action that can do harm is advised unless its conditions truly hold.

The library and variations of it, judged by an oracle that looks at readings alone.
RACKWALK_TEST_PROFILE=nightly tries 5,000 variations in place of 100.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import pytest
from budget import step
from shipped_knowledge import cases_judged, shipped_cases

from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.inference.evaluation_model import Evaluation, Reading
from expert.knowledge.model import Rulebase
from scenarios.advice_oracle import advised, dangers, values_of
from scenarios.variations import Case, variations

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
COUNT = 5000 if NIGHTLY else 100
SEED = "rackwalk"


@pytest.fixture(scope="module")
def library() -> tuple[Scenario, ...]:
    return shipped_cases()


@pytest.fixture(scope="module")
def evaluated(
    library: tuple[Scenario, ...],
) -> list[tuple[Scenario, Evaluation]]:
    return [(each, cases_judged().evaluate(each)) for each in library]


@pytest.fixture(scope="module")
def causes(evaluated: list[tuple[Scenario, Evaluation]]) -> dict[str, set[str]]:
    """The causes that each case leads to, by its path."""
    return {
        each.place.path: {found.cause.id for found in evaluation.findings}
        for each, evaluation in evaluated
    }


@pytest.fixture(scope="module")
def gated(
    library: tuple[Scenario, ...], causes: dict[str, set[str]], shipped_rulebase: Rulebase
) -> list[Scenario]:
    """Cases that lead to a cause with a gated remedy; only from these can such advice come."""
    with_gate = {
        cause.id
        for cause in shipped_rulebase.causes.values()
        if any(r.action for r in cause.remedy)
    }
    return [each for each in library if causes[each.place.path] & with_gate]


def judged(cases: Iterable[Case], base: Rulebase) -> tuple[Counter[str], list[str]]:
    """How often each action was advised, and every time when it should not have been."""
    opened: Counter[str] = Counter()
    return opened, list(wrongly_advised(cases, base, opened))


def wrongly_advised(cases: Iterable[Case], base: Rulebase, opened: Counter[str]) -> Iterator[str]:
    """Every time an action is advised that should not be; counts all that are advised."""
    scenario_runner = ScenarioRunner(base, "plain")
    for scenario, readings in cases:
        evaluation = scenario_runner.evaluator(scenario).evaluate(readings, scenario.given.found)
        yield from wrong_in(scenario, readings, evaluation, opened)


def wrong_in(
    scenario: Scenario, readings: Sequence[Reading], evaluation: Evaluation, opened: Counter[str]
) -> Iterator[str]:
    """Every action that this case advises and should not."""
    circuits = [each.id for each in scenario.given.members if each.kind == "circuit"]
    told = values_of(evaluation, readings, circuits)
    for action, cause in set(advised(evaluation)):
        opened[action] += 1
        if why := dangers(action, told, scenario.given.subject.has):
            yield f"{scenario.place.path}: {action} for {cause}: {'; '.join(why)}"


def test_no_case_of_the_library_gets_dangerous_advice(
    evaluated: list[tuple[Scenario, Evaluation]],
) -> None:
    wrong = [
        line
        for scenario, evaluation in evaluated
        for line in wrong_in(scenario, scenario.given.readings, evaluation, Counter())
    ]
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
    ][:: step(3)],
)
def test_a_missing_gate_is_noticed(
    gate: str,
    gated: list[Scenario],
    causes: dict[str, set[str]],
    shipped_rulebase: Rulebase,
) -> None:
    action = shipped_rulebase.gates[gate].action
    with_action = {
        cause.id
        for cause in shipped_rulebase.causes.values()
        if any(remedy.action == action for remedy in cause.remedy)
    }
    near = [each for each in gated if causes[each.place.path] & with_action]
    cases = variations(near, shipped_rulebase.quantities, 200, SEED)
    wrong = wrongly_advised(cases, without(shipped_rulebase, gate), Counter())
    assert any(f": {action} for " in line for line in wrong)


@pytest.mark.parametrize("case", ["low-gate-open", "low-gravity-coil", "high-gate-open"])
def test_a_stem_is_advised_where_the_fans_turn_or_there_are_none(
    case: str, evaluated: list[tuple[Scenario, Evaluation]]
) -> None:
    name = f"superheat-set-{case}.yaml"
    (found,) = (told for each, told in evaluated if each.place.path.endswith(name))
    assert "turn-expansion-valve-stem" in {action for action, _ in advised(found)}
