"""Every whole case comes out as it must, with the plain engine and with durable_rules.

RACKWALK_TEST_PROFILE=nightly runs all of them on durable_rules, in place of every twenty-fifth.
"""

from __future__ import annotations

import os
import tomllib
from functools import cache
from pathlib import Path

import pytest
from shipped_knowledge import cases_judged, shipped_cases

from expert.author.scenarios.failure_lines import scenario_lines
from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.author.scenarios.verdict import judge_scenario
from expert.inference.durable import load_library
from expert.inference.engine import EngineError
from expert.knowledge.model import Rulebase
from expert.knowledge.pack_files import PRACTICE
from expert.places import shipped

FOLDER = Path(__file__).parent
FILES = sorted(FOLDER.rglob("*.yaml"))
NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
SAMPLED = FILES if NIGHTLY else FILES[::25]


def name(path: Path) -> str:
    return path.relative_to(FOLDER).with_suffix("").as_posix()


@pytest.fixture(scope="module")
def plain() -> ScenarioRunner:
    return cases_judged()


@cache
def cases() -> dict[str, Scenario]:
    return {each.place.path: each for each in shipped_cases()}


@pytest.fixture(scope="module")
def durable(shipped_rulebase: Rulebase) -> ScenarioRunner:
    try:
        load_library()
    except EngineError as error:
        pytest.skip(str(error))
    return ScenarioRunner(shipped_rulebase, "durable")


def failures(scenario: Scenario, scenario_runner: ScenarioRunner) -> str:
    outcome = judge_scenario(scenario, scenario_runner)
    return "" if outcome.passed else "\n".join(scenario_lines(outcome, scenario_runner))


@pytest.mark.parametrize("path", FILES, ids=name)
def test_a_case_comes_out_as_it_must(path: Path, plain: ScenarioRunner) -> None:
    told = failures(cases()[str(path)], plain)
    assert not told, told


@pytest.mark.parametrize("path", SAMPLED, ids=name)
def test_both_engines_find_the_same_with_the_same_reasons(
    path: Path, plain: ScenarioRunner, durable: ScenarioRunner
) -> None:
    scenario = cases()[str(path)]
    one, other = plain.evaluate(scenario), durable.evaluate(scenario)
    assert other.engine == "durable"
    assert (one.fired, one.findings) == (other.fired, other.findings)


def test_cases_stand_in_folders_named_as_those_of_the_rulebase() -> None:
    areas = {path.relative_to(FOLDER).parts[0] for path in FILES}
    systems = {path.name for path in shipped("rulebase").iterdir() if path.is_dir()}
    assert areas - systems == {"healthy", "several-faults"}
    systems -= {PRACTICE}  # exercises, no knowledge
    assert systems - areas == {"log", "plant"}  # no cause of their own, or only over weeks


def test_every_folder_of_cases_goes_into_the_wheel() -> None:
    pyproject = tomllib.loads((FOLDER.parents[1] / "pyproject.toml").read_text(encoding="utf-8"))
    taken = pyproject["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    names = {path.relative_to(FOLDER).parts[0] for path in FILES}
    assert {k for k in taken if k.startswith("tests/")} == {f"tests/scenarios/{n}" for n in names}
