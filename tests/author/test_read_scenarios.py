"""Whole cases in files: how they are read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from expert.author.scenarios.read import ScenarioRunner, load_scenarios, read_scenario
from expert.errors import PackError, ReadingError
from expert.knowledge.model import Rulebase

Write = Callable[..., Path]


def test_a_scenario_keeps_title_source_and_what_it_expects(
    tiny: Rulebase, write_scenario: Write
) -> None:
    path = write_scenario("{first: set-low, never: [left-iced]}", differential="8 psi")
    scenario = read_scenario(path, tiny)
    assert (scenario.title, str(scenario.source)) == ("A case", "from memory")
    assert (scenario.expect.first, scenario.expect.never) == ("set-low", ("left-iced",))
    assert [reading.quantity for reading in scenario.given.readings] == ["differential"]


@pytest.mark.parametrize(
    ("expect", "said"),
    [
        ("{first: set-lo}", "Did you mean 'set-low'?"),
        ("{frist: set-low}", "Did you mean 'first'?"),
        ("{none: no}", "Known: yes."),
        ("{}", "The scenario expects nothing."),
        ("{first: set-low, never: [set-low]}", "'set-low' is expected, and never."),
        ("{none: yes, also: [set-low]}", "No finding is expected, and a cause or its advice too."),
        ("{advice_held: [condemn-part]}", "There is no action with a gate 'condemn-part'."),
        ("{certainty: {set-low: certain}}", "'certain' is no word for a certainty."),
    ],
)
def test_an_expectation_that_cannot_be_is_refused_with_a_hint(
    tiny: Rulebase, write_scenario: Write, expect: str, said: str
) -> None:
    with pytest.raises(PackError) as caught:
        read_scenario(write_scenario(expect, differential="8 psi"), tiny)
    assert said in str(caught.value)
    assert "case.yaml:9" in str(caught.value) or "case.yaml:7" in str(caught.value)


def test_a_file_without_a_scenario_section_is_refused(tiny: Rulebase, tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text("readings: {differential: 8 psi}\n", encoding="utf-8")
    with pytest.raises(PackError, match="no 'scenario:"):
        read_scenario(path, tiny)


def test_readings_that_cannot_be_taken_are_refused(tiny: Rulebase, write_scenario: Write) -> None:
    with pytest.raises(ReadingError, match="not a known quantity"):
        read_scenario(write_scenario("{none: yes}", differentail="8 psi"), tiny)


def test_the_problems_of_all_files_are_told_together(tiny: Rulebase, write_scenario: Write) -> None:
    folder = write_scenario("{first: nothing}", "a.yaml", differential="8 psi").parent
    write_scenario("{none: yes}", "b.yaml", differential="8 ps")
    with pytest.raises(PackError) as caught:
        load_scenarios(folder, tiny)
    told = " ".join(str(problem.place) for problem in caught.value.problems)
    assert "a.yaml" in told and "b.yaml" in told


def test_scenarios_are_loaded_from_folders_inside_by_path(
    tiny: Rulebase, write_scenario: Write
) -> None:
    folder = write_scenario("{none: yes}", "b.yaml", differential="17 psi").parent
    (folder / "a").mkdir()
    (folder / "b.yaml").rename(folder / "a" / "c.yaml")
    write_scenario("{none: yes}", "b.yaml", differential="17 psi")
    names = [Path(each.place.path).name for each in load_scenarios(folder, tiny)]
    assert names == ["c.yaml", "b.yaml"]


def test_an_empty_folder_is_refused(tiny: Rulebase, tmp_path: Path) -> None:
    with pytest.raises(PackError, match="no scenarios here"):
        load_scenarios(tmp_path, tiny)


def test_scenarios_on_the_same_kind_of_subject_share_an_evaluator(
    tiny: Rulebase, write_scenario: Write
) -> None:
    bench = ScenarioRunner(tiny, "plain")
    one = read_scenario(write_scenario("{none: yes}", "a.yaml", differential="17 psi"), tiny)
    two = read_scenario(write_scenario("{none: yes}", "b.yaml", differential="18 psi"), tiny)
    assert bench.evaluator(one) is bench.evaluator(two)


def test_subjects_to_which_the_same_rules_apply_share_what_is_compiled(
    tiny: Rulebase, write_scenario: Write
) -> None:
    text = "{first: set-low, never: [left-iced]}"
    one = read_scenario(write_scenario(text, differential="8 psi"), tiny)
    moved = replace(one.given.subject, altitude=one.given.subject.altitude + 1000)
    other = replace(one, given=replace(one.given, subject=moved))
    runner = ScenarioRunner(tiny)
    both = [runner.evaluate(each) for each in (one, other)]
    assert runner.evaluator(one) is not runner.evaluator(other)
    assert runner.evaluator(one).strata is runner.evaluator(other).strata
    assert both == [ScenarioRunner(tiny).evaluate(each) for each in (one, other)]
