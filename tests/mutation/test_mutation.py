"""Mutation testing of the base rulebase: a sample in CI, every mutant at night."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from expert.knowledge.load import load_rulebase

from .run_mutation import main, parse, run

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
SCENARIOS = str(Path(__file__).parents[1] / "scenarios")


def figures(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, object]]:
    code = main(["--json", "--jobs", "1", *words])
    return code, json.loads(capsys.readouterr().out)


def test_tests_that_say_nothing_notice_nothing(
    write_rulebase: object, tiny_text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    bare = "\n".join(line for line in tiny_text.splitlines() if "{given:" not in line)
    folder = write_rulebase(bare.replace("    tests:\n", ""))  # type: ignore[operator]
    code, told = figures(capsys, "--rulebase", str(folder), "--at-least", "1")
    assert (code, told["noticed"]) == (1, 0)
    assert len(told["survivors"]) == told["mutants"]  # type: ignore[arg-type]


def test_a_survivor_is_told_with_its_place(
    write_rulebase: object, tiny_text: str, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_rulebase(tiny_text)  # type: ignore[operator]
    assert load_rulebase(folder).rules
    assert main(["--rulebase", str(folder), "--jobs", "1", "--kind", "conclusion"]) == 0
    out = capsys.readouterr().out
    assert "all.yaml:46:5: slow-by-the-clock: no longer concludes 'slow'" in out
    assert "0 of 1 noticed (0.0 %)" in out


def test_the_share_asked_for_decides_the_exit_code(write_rulebase: object, tiny_text: str) -> None:
    folder = str(write_rulebase(tiny_text))  # type: ignore[operator]
    words = ["--rulebase", folder, "--jobs", "1", "--kind", "condition", "--quiet"]
    assert main([*words, "--at-least", "50"]) == 0
    assert main([*words, "--at-least", "100"]) == 1


def test_two_processes_find_what_one_finds(write_rulebase: object, tiny_text: str) -> None:
    folder = str(write_rulebase(tiny_text))  # type: ignore[operator]
    one = run(parse(["--rulebase", folder, "--jobs", "1"]))
    two = run(parse(["--rulebase", folder, "--jobs", "2", "--chunk", "5"]))
    assert one == two


@pytest.mark.skipif(NIGHTLY, reason="the whole is run")
def test_a_sample_of_the_base_rulebase_is_noticed(capsys: pytest.CaptureFixture[str]) -> None:
    code, told = figures(capsys, "--scenarios", SCENARIOS, "--sample", "60")
    assert told["mutants"] == 60
    assert code == 0
    assert int(str(told["noticed"])) >= 15  # a quarter of a sample: far below what is kept


@pytest.mark.skipif(not NIGHTLY, reason="takes minutes")
def test_the_base_rulebase_notices_95_of_100(capsys: pytest.CaptureFixture[str]) -> None:
    code, told = figures(capsys, "--scenarios", SCENARIOS, "--at-least", "95")
    assert code == 0, f"{told['noticed']} of {told['mutants']} noticed"
