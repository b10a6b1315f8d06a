"""Tests of a rule that stand in `proof:` count as those beside it, and change nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from tiny_rulebase import TINY

from expert.author.rule_tests import named, run_rule_tests
from expert.author.scenarios.run_rule_tests import RuleTestRunner
from expert.errors import PackError
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.memory import Memory

PROOF = """\
proof:
  - rule: low-and-slow
    tests:
      - {given: {differential: 14 psi, slow: yes}, expect: EXPECT, edge: differential-limit low}
      - {given: {differential: 12 psi, slow: no}, expect: silent}
"""
Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    (tmp_path / "all.yaml").write_text(TINY, encoding="utf-8")

    def write(proof: str) -> Path:
        (tmp_path / "proof.yaml").write_text(proof, encoding="utf-8")
        return tmp_path

    return write


def test_they_come_after_those_beside_the_rule_at_their_own_place(write: Write) -> None:
    folder = write(PROOF.replace("EXPECT", "undecided"))
    rule = load_rulebase(folder).rules["low-and-slow"]
    assert [Path(test.place.path).name for test in rule.tests] == ["all.yaml"] * 2 + [
        "proof.yaml"
    ] * 2
    assert [test.edge for test in rule.tests] == ["", "", "differential-limit low", ""]
    assert named(rule, "proof.yaml") and named(rule, "all.yaml") and not named(rule, "other")


def test_one_that_fails_is_told_where_it_stands(write: Write) -> None:
    base = load_rulebase(write(PROOF.replace("EXPECT", "silent")))
    failed = [str(each) for each in run_rule_tests(base, "plain") if not each.passed]
    assert len(failed) == 1
    assert failed[0].startswith(str(write("")) + "/proof.yaml:4:")


def test_proof_changes_no_hash(write: Write) -> None:
    one, other = (
        load_rulebase(write(text)) for text in (PROOF.replace("EXPECT", "fires"), "coverage: []\n")
    )
    assert one.info.hash == other.info.hash
    assert one.rules["low-and-slow"] != other.rules["low-and-slow"]


@pytest.mark.parametrize("more", ["", "coverage: []\n", "# a line\n---\n"])
def test_without_proof_a_rulebase_is_the_same_but_for_its_tests(write: Write, more: str) -> None:
    memory = Memory()
    folder = write(more + PROOF.replace("EXPECT", "fires"))
    whole, bare = (load_rulebase(folder, memory, proof=wanted) for wanted in (True, False))
    assert any(rule.tests for rule in whole.rules.values())
    assert bare.info == whole.info
    untested = {name: replace(rule, tests=()) for name, rule in whole.rules.items()}
    assert bare == replace(whole, rules=untested)


def test_without_proof_only_a_wrong_test_is_passed_over(write: Write) -> None:
    folder = write(PROOF.replace("given", "givne"))
    with pytest.raises(PackError, match="givne"):
        load_rulebase(folder)
    load_rulebase(folder, proof=False)
    write("signs:\n  - {id: BAD, says: x}\n" + PROOF)
    with pytest.raises(PackError, match="BAD"):
        load_rulebase(folder, proof=False)


def test_a_change_of_proof_is_judged_again(write: Write) -> None:
    memory, runner = Memory(), RuleTestRunner()
    for word, failing in (("undecided", 0), ("silent", 1), ("undecided", 0)):
        base = load_rulebase(write(PROOF.replace("EXPECT", word)), memory)
        assert sum(not each.passed for each in runner.run(base)) == failing


def test_what_did_not_change_is_the_same_rule_as_before(write: Write) -> None:
    memory = Memory()
    one = load_rulebase(write(PROOF.replace("EXPECT", "fires")), memory)
    other = load_rulebase(write(PROOF.replace("EXPECT", "fires")), memory)
    assert one.rules["low-and-slow"] is other.rules["low-and-slow"]


@pytest.mark.parametrize(
    ("wrong", "line", "said", "hint"),
    [
        ("rule: low-and-slwo", 2, "There is no rule 'low-and-slwo' to prove.", "low-and-slow"),
        ("rule: quite-another-thing", 2, "There is no rule", "Delete it"),
        ("rle: low-and-slow", 2, "'rle' is not known in a proof.", "rule"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(
    write: Write, wrong: str, line: int, said: str, hint: str
) -> None:
    text = PROOF.replace("EXPECT", "fires").replace("rule: low-and-slow", wrong)
    with pytest.raises(PackError) as refused:
        load_rulebase(write(text))
    told = refused.value.problems[0]
    assert (told.place.line, Path(told.place.path).name) == (line, "proof.yaml")
    assert said in told.message
    assert hint in told.hint


def test_a_pack_proves_rules_of_the_pack_below(write: Write, tmp_path: Path) -> None:
    """And what it switches off is not missed by the proof that stands below."""
    folder = write(PROOF.replace("EXPECT", "fires"))
    pack = tmp_path.parent / f"{tmp_path.name}-over"
    pack.mkdir()
    head = f"pack: {{name: ours, version: 0.1, over: tiny, base: ../{folder.name}}}\n"
    (pack / "pack.yaml").write_text(head, encoding="utf-8")
    more = PROOF.replace("14 psi", "9 psi").replace("EXPECT", "fires")
    (pack / "proof.yaml").write_text(more, encoding="utf-8")
    assert len(load_rulebase(pack).rules["low-and-slow"].tests) == 6
    off = "switch_off: [{rule: low-and-slow, reason: R, author: A, date: 2026-03-14}]\n"
    (pack / "proof.yaml").write_text(off, encoding="utf-8")
    assert "low-and-slow" not in load_rulebase(pack).rules
