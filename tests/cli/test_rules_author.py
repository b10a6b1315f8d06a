"""`rackwalk rules test|coverage|analyse|explain`: the author's tools from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tiny_rulebase import TINY, WriteRulebase

from expert.cli.rules.rules_command import ACTIONS

from .small_job import Command

SCENARIO = """\
application: low temperature
defrost: hot gas
refrigerant: R-449A
readings: {differential: 8 psi, clearing_time: 24 min}
scenario:
  title: Weak push
  source: from memory
  expect: {first: CAUSE}
"""


@pytest.fixture
def folder(write_rulebase: WriteRulebase) -> str:
    return str(write_rulebase(TINY))


@pytest.fixture
def scenarios(tmp_path: Path) -> Path:
    folder = tmp_path / "scenarios"
    folder.mkdir()
    (folder / "weak.yaml").write_text(SCENARIO.replace("CAUSE", "set-low"), encoding="utf-8")
    return folder


@pytest.mark.parametrize("action", ACTIONS)
def test_every_action_of_the_table_is_there_with_help_and_examples(
    command: Command, action: str
) -> None:
    done = command("rules", action, "--help")
    assert done.code == 0
    assert "examples:" in done.out and f"rackwalk rules {action}" in done.out


def test_scenarios_are_run_after_the_rule_tests(
    command: Command, folder: str, scenarios: Path
) -> None:
    done = command("rules", "test", "--rulebase", folder, "--scenarios", str(scenarios))
    assert done.code == 0
    assert done.out.splitlines()[-2:] == [
        "rule tests: 7 passed, 0 failed", "scenarios: 1 passed, 0 failed",
    ]  # fmt: skip


def test_a_scenario_that_fails_is_told_readably_and_ends_with_3(
    command: Command, folder: str, scenarios: Path
) -> None:
    (scenarios / "weak.yaml").write_text(SCENARIO.replace("CAUSE", "left-iced"), encoding="utf-8")
    done = command("rules", "test", "--rulebase", folder, "--scenarios", str(scenarios))
    assert done.code == 3
    assert "weak.yaml:6:3: Weak push" in done.out
    assert "expected first: left-iced" in done.out
    assert "but got  set-low (0.75)" in done.out


@pytest.mark.parametrize("engine", ["auto", "plain"])
def test_failures_are_there_for_programs(
    command: Command, write_rulebase: WriteRulebase, engine: str
) -> None:
    text = TINY.replace(
        "{clearing_time: 10 min}, expect: silent", "{clearing_time: 10 min}, expect: fires"
    )
    folder = str(write_rulebase(text))
    done = command("rules", "test", "--json", "--rulebase", folder, "--engine", engine)
    told = json.loads(done.out)["rule_tests"]
    assert (done.code, told["passed"]) == (3, 6)
    (failed,) = told["failed"]
    assert (failed["rule"], failed["expected"], failed["got"]) == (
        "slow-by-the-clock", "fires", "silent",
    )  # fmt: skip


def test_only_some_rules_are_run(command: Command, folder: str) -> None:
    done = command("rules", "test", "--rulebase", folder, "--only", "cold")
    assert "rule tests: 2 passed" in done.out


def test_a_word_that_nothing_has_is_refused(command: Command, folder: str) -> None:
    assert command("rules", "test", "--rulebase", folder, "--only", "zebra").code == 2


def test_watching_is_not_for_programs(command: Command, folder: str) -> None:
    assert command("rules", "test", "--rulebase", folder, "--watch", "--json").code == 2


def test_watching_goes_on_when_the_rulebase_is_broken_for_a_while(
    command: Command, folder: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = Path(folder) / "all.yaml"
    steps = iter([lambda: path.write_text("rules: [\n"), lambda: path.write_text(TINY)])

    def sleep(seconds: float) -> None:
        step = next(steps, None)
        if step is None:
            raise KeyboardInterrupt
        step()

    monkeypatch.setattr("time.sleep", sleep)
    monkeypatch.setattr("expert.author.scenarios.watch.watch.__defaults__", (sleep,))
    done = command("rules", "test", "--rulebase", folder, "--watch")
    assert done.code == 0
    assert done.out.count("rule tests: 7 passed, 0 failed") == 2
    assert "all.yaml:1:8: " in done.out


def test_coverage_tells_what_is_lacking_in_one_line_each(command: Command, folder: str) -> None:
    done = command("rules", "coverage", "--rulebase", folder)
    assert done.code == 0
    assert "slow-by-the-clock / unless valve is half open / never decisive, never true" in done.out
    assert done.out.splitlines()[-1].split() == ["all", "40", "of", "50", "80.0", "%"]


@pytest.mark.parametrize(("threshold", "code"), [("80", 0), ("80%", 0), ("80.0001", 3), ("100", 3)])
def test_a_threshold_decides_the_exit_code(
    command: Command, folder: str, threshold: str, code: int
) -> None:
    done = command("rules", "coverage", "--rulebase", folder, "--threshold", threshold)
    assert done.code == code


@pytest.mark.parametrize("threshold", ["101", "-1", "all"])
def test_a_threshold_that_is_no_share_is_refused(
    command: Command, folder: str, threshold: str
) -> None:
    words = ("rules", "coverage", "--rulebase", folder, f"--threshold={threshold}")
    assert command(*words).code == 2


def test_the_gaps_of_coverage_are_there_for_programs(command: Command, folder: str) -> None:
    told = json.loads(command("rules", "coverage", "--rulebase", folder, "--json").out)
    assert told["figures"]["all"] == {"covered": 40, "of": 50}
    assert {gap["kind"] for gap in told["gaps"]} == {"condition", "quantity", "sign"}


def test_what_is_explained_in_the_rulebase_is_left_out(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    folder = write_rulebase(
        TINY + "coverage:\n  - {what: quantity remark, why: for the report}\n"
        "  - {what: sign slow, why: used}\n"
    )
    done = command("rules", "coverage", "--rulebase", str(folder))
    assert "quantity remark" not in done.out
    assert "1 more are explained in the rulebase." in done.out
    line = len(TINY.splitlines()) + 3
    assert f"all.yaml:{line}:5: 'sign slow' explains nothing that is lacking" in done.out


def test_tests_are_proposed_for_what_nothing_notices(command: Command, folder: str) -> None:
    done = command("rules", "coverage", "--rulebase", folder, "--suggest", "low-and-slow")
    assert done.code == 0
    assert "# low-and-slow: nothing notices if 'slow' dropped" in done.out
    assert "- given: {differential: 11 psi, slow: no}\n  expect: silent\n" in done.out
    told = command("rules", "coverage", "--rulebase", folder, "--suggest", "low-and-slow", "--json")
    assert {each["rule"] for each in json.loads(told.out)} == {"low-and-slow"}


def test_a_word_that_no_rule_has_is_refused(command: Command, folder: str) -> None:
    assert command("rules", "coverage", "--rulebase", folder, "--suggest", "zebra").code == 2


def test_analysis_ends_well_where_no_rule_is_dead(command: Command, folder: str) -> None:
    done = command("rules", "analyse", "--rulebase", folder)
    assert done.code == 0
    assert "gap: no rule looks at differential being 'high'" in done.out
    assert "    |   differential: " in done.out
    assert done.out.splitlines()[-1] == "1 gap"


def test_a_dead_rule_ends_with_3(command: Command, write_rulebase: WriteRulebase) -> None:
    text = TINY.replace("when: [rise is low]", "when: [rise is low, rise > 25 F]")
    done = command("rules", "analyse", "--rulebase", str(write_rulebase(text)))
    assert done.code == 3
    assert (
        "cold-line can never fire: 'rise > 25 F' cannot hold together with 'rise is low'"
        in done.out
    )


def test_cases_are_written_to_a_folder_and_can_be_diagnosed(
    command: Command, folder: str, tmp_path: Path
) -> None:
    cases = tmp_path / "cases"
    done = command("rules", "analyse", "--rulebase", folder, "--cases", str(cases))
    assert f"case: {cases / 'gap-1.yaml'}" in done.out
    assert command("diagnose", str(cases / "gap-1.yaml"), "--rulebase", folder).code == 0


def test_the_analysis_is_there_for_programs(command: Command, folder: str) -> None:
    done = command("rules", "analyse", "--rulebase", folder, "--json", "--kind", "gap")
    (remark,) = json.loads(done.out)
    assert (remark["kind"], remark["name"]) == ("gap", "differential high / differential-limit")
    assert "differential: " in remark["case"]


def test_explaining_is_the_same_as_diagnosing_a_cause(
    command: Command, folder: str, scenarios: Path
) -> None:
    path = str(scenarios / "weak.yaml")
    explained = command("rules", "explain", path, "set-low", "--rulebase", folder)
    diagnosed = command("diagnose", path, "--cause", "set-low", "--rulebase", folder)
    assert explained.out == diagnosed.out
    assert "Regulator set too low: " in explained.out


REASON = "analysis:\n  - {what: gap differential high, why: more is no fault}\n"


def test_the_analysis_asked_to_be_strict_wants_everything_explained(
    command: Command, folder: str
) -> None:
    assert command("rules", "analyse", "--strict", "--rulebase", folder).code == 3


def test_what_is_explained_is_no_longer_told(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    folder = str(write_rulebase(TINY + REASON))
    done = command("rules", "analyse", "--strict", "--rulebase", folder)
    assert done.code == 0
    assert done.out.splitlines() == ["Nothing stands out.", "1 more are explained in the rulebase."]


def test_what_explains_nothing_is_to_be_deleted(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    folder = str(write_rulebase(TINY + REASON + "  - {what: gap rise high, why: nothing}\n"))
    done = command("rules", "analyse", "--strict", "--rulebase", folder)
    assert done.code == 3
    assert "'gap rise high' explains nothing that is there; delete it" in done.out


def test_a_new_rule_that_nobody_answers_for_stops_with_a_sentence(
    command: Command, tmp_path: Path
) -> None:
    pack = tmp_path / "pack"
    done = command("rules", "new", "--rulebase", str(pack))
    assert (done.code, done.err) == (5, "rackwalk: Stopped; nothing was begun.\n")
    assert not pack.exists()
    pack.mkdir()
    (pack / "pack.yaml").write_text("pack: {name: own, version: 1.0.0, over: rackwalk-base}\n")
    (pack / "new-rule.draft").write_text("saw: fans_in_cooling\n")
    done = command("rules", "new", "--rulebase", str(pack))
    assert done.code == 5 and "Your answers are kept" in done.err
    assert (pack / "new-rule.draft").exists()
