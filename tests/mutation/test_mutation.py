"""Mutation testing of the base rulebase: a sample in CI, every mutant at night."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from shipped_knowledge import load_over_shipped

from expert.knowledge.load_rulebase import load_rulebase

from . import run_mutation
from .run_mutation import chosen, main, name_of, parse, run, trial

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


def test_a_run_that_was_stopped_goes_on(
    write_rulebase: object, tiny_text: str, tmp_path: Path
) -> None:
    folder = write_rulebase(tiny_text)  # type: ignore[operator]
    words = ["--rulebase", str(folder), "--jobs", "1", "--keep", str(tmp_path / "kept.jsonl")]
    whole = run(parse(words))
    lines = (tmp_path / "kept.jsonl").read_text(encoding="utf-8").splitlines()
    assert len(lines) == len(whole) + 1
    marked = [json.dumps([0, "as it was kept"]), *lines[2:6], '[7, "torn off']
    (tmp_path / "kept.jsonl").write_text("\n".join([lines[0], *marked]), encoding="utf-8")
    assert run(parse(words)) == {**whole, 0: "as it was kept"}


def test_results_of_another_rulebase_are_not_taken(
    write_rulebase: object, tiny_text: str, tmp_path: Path
) -> None:
    folder = write_rulebase(tiny_text)  # type: ignore[operator]
    words = ["--rulebase", str(folder), "--jobs", "1", "--keep", str(tmp_path / "kept.jsonl")]
    whole = run(parse(words))
    (tmp_path / "kept.jsonl").write_text('["another", ""]\n[0, "elsewhere"]\n', encoding="utf-8")
    assert run(parse(words)) == whole


def test_a_sample_is_the_same_each_time_and_keeps_to_what_is_changed(
    write_rulebase: object, tiny_text: str
) -> None:
    folder = str(write_rulebase(tiny_text))  # type: ignore[operator]
    made = trial(folder, "")[1]
    words = ["--rulebase", folder, "--sample", "9"]
    one = chosen(made, parse(words))
    assert one == chosen(made, parse(words))
    fewer = made[1:]  # all numbers differ by one
    other = [name_of(fewer[number]) for number in chosen(fewer, parse(words))]
    assert len(set(other) & {name_of(made[number]) for number in one}) >= 8
    assert one != chosen(made, parse([*words, "--seed", "2"]))


@pytest.mark.skipif(NIGHTLY, reason="the whole is run")
def test_a_sample_of_the_base_rulebase_is_noticed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against the tests beside the rules alone; with the scenarios a tenth more is noticed."""
    monkeypatch.setattr(run_mutation, "load_rulebase", load_over_shipped)  # read already
    code, told = figures(capsys, "--sample", "50", "--at-least", "80")
    assert told["mutants"] == 50
    assert code == 0, told["survivors"]


@pytest.mark.skipif(not NIGHTLY, reason="takes minutes")
def test_the_base_rulebase_notices_98_of_100(capsys: pytest.CaptureFixture[str]) -> None:
    code, told = figures(capsys, "--scenarios", SCENARIOS, "--at-least", "98")
    assert code == 0, f"{told['noticed']} of {told['mutants']} noticed"
