"""`rackwalk rules`: what is wrong is told with its place, and the tests beside the rules run."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tiny_rulebase import TINY, WriteRulebase

from .small_job import Command


def test_a_sound_rulebase_is_counted(command: Command, write_rulebase: WriteRulebase) -> None:
    done = command("rules", "check", "--rulebase", str(write_rulebase(TINY)))
    assert done.code == 0
    assert "tiny 0.1" in done.out
    assert "no problem found" in done.out
    assert "9 quantities, 3 limits, 2 signs, 2 causes, 3 rules, 1 cautions" in done.out


def test_the_counts_are_there_for_programs(command: Command, write_rulebase: WriteRulebase) -> None:
    done = command("rules", "check", "--json", "--rulebase", str(write_rulebase(TINY)))
    told = json.loads(done.out)
    assert (told["rules"], told["causes"], told["limits"]) == (3, 2, 3)


def test_every_problem_is_told_with_file_line_column_and_the_line_itself(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    text = TINY.replace("[clearing_time is high]", "[clearing_time is hgih]")
    folder = write_rulebase(text.replace("strong: 0.75", "strong: 75"))
    done = command("rules", "check", "--rulebase", str(folder))
    assert (done.code, done.out) == (3, "")
    path = folder / "all.yaml"
    assert f"{path}:3:49: '75' must be a number from 0 to 1. [not-a-share]" in done.err
    line = next(n for n, each in enumerate(text.splitlines(), 1) if "hgih" in each)
    assert f"{path}:{line}:12: 'clearing_time' cannot be 'hgih'. [unknown-state]" in done.err
    assert "    when: [clearing_time is hgih]\n" in done.err
    assert "Did you mean 'high'?" in done.err


def test_a_folder_without_rules_is_3(command: Command, tmp_path: Path) -> None:
    assert command("rules", "check", "--rulebase", str(tmp_path)).code == 3


def test_the_tests_beside_the_rules_pass_and_are_counted(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    done = command("rules", "test", "--rulebase", str(write_rulebase(TINY)))
    assert done.code == 0
    assert "7" in done.out


def test_a_failing_test_is_told_with_its_place_and_ends_with_3(
    command: Command, write_rulebase: WriteRulebase
) -> None:
    text = TINY.replace(
        "{clearing_time: 10 min}, expect: silent", "{clearing_time: 10 min}, expect: fires"
    )
    folder = write_rulebase(text)
    done = command("rules", "test", "--rulebase", str(folder))
    line = next(
        n for n, each in enumerate(text.splitlines(), 1) if "10 min}, expect: fires" in each
    )
    assert done.code == 3
    assert f"{folder / 'all.yaml'}:{line}:" in done.out
    assert "slow-by-the-clock" in done.out


@pytest.mark.parametrize(
    ("words", "says"), [((), "check"), (("chek",), "Did you mean 'check'?"), (("zzz",), "check")]
)
def test_an_action_that_is_not_there_is_answered_with_those_that_are(
    command: Command, words: tuple[str, ...], says: str
) -> None:
    done = command("rules", *words)
    assert done.code == 2
    assert says in done.err
