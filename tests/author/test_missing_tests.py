"""Tests that are proposed: true of the rules as they are, false of the mutant, well written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from expert.author.mutation.mutants import mutants
from expert.author.mutation.trial import Trial
from expert.author.proposals.for_mutants import Proposer
from expert.author.proposals.propose import changed_files, propose_all
from expert.author.proposals.write_tests import with_finds, with_proof
from expert.author.scenarios.run_rule_tests import run_in_closures
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Rulebase

LoadTiny = Callable[..., Rulebase]
SCALE = (
    "strong: 0.75}", "strong: 0.75, conclusive: 0.95}",
    "[{from: 0.5,", "[{from: 0.9, say: certain}, {from: 0.7, say: very likely}, {from: 0.5,",
)  # fmt: skip


def test_what_is_proposed_leaves_no_mutant_of_the_tiny_rulebase(load_tiny: LoadTiny) -> None:
    base = load_tiny(*SCALE)
    path = Path(base.rules["cold-line"].place.path)
    found = propose_all(Trial(base), mutants(base))
    for name, text in changed_files(base, found).items():
        Path(name).write_text(text, encoding="utf-8")
    assert path.with_name("proof.yaml").exists()
    again = load_rulebase(path.parent)
    assert all(outcome.passed for outcome in run_in_closures(again))
    trial = Trial(again)
    assert [str(m) for m in mutants(again) if not trial.noticed(m)] == []


MORE = """\
  - id: more
    when: [{when}]
    unless: [{unless}]
    evidence_for: {{set-low: weak}}
    because: So it is.
    source: from memory
"""


@pytest.mark.parametrize(
    ("when", "unless"),
    [
        ("differential < 8 psi", "valve is open"),
        ("upper_pressure > lower_pressure + 3 psi, valve is known", "rise is not low"),
        ("{any: [rise is low, clearing_time is high]}, valve is open", "not slow"),
        ("{at least 2 of: [rise is low, slow, valve is open]}", "remark is known"),
        ("line_temperature rises by 5 F within 4 min", "valve is shut"),
        ("{as found: [rise is low]}, {as left: [rise is not low]}", "valve is shut"),
        ("{most circuits: [rise is low]}", "valve is shut"),
        ("slow, not weak_push", "valve is shut"),
    ],
)
def test_proposals_are_true_and_notice_their_mutant(
    with_rules: LoadTiny, when: str, unless: str
) -> None:
    base = with_rules(MORE.format(when=when, unless=unless))
    trial, proposer = Trial(base), Proposer(base)
    found = [
        (mutant, proposal)
        for mutant in mutants(base)
        if mutant.rule is not None
        and mutant.rule.id == "more"
        and (proposal := proposer.propose(mutant)) is not None
    ]
    firing = [m for m in mutants(base) if m.rule is not None and m.rule.id == "more"]
    assert len(found) >= len(firing) * 0.5
    for mutant, proposal in found:
        rule = base.rules[proposal.rule]
        tested = replace(base, rules={
            **base.rules, rule.id: replace(rule, tests=(*rule.tests, proposal.test)),
        })  # fmt: skip
        assert all(outcome.passed for outcome in run_in_closures(tested))
        trial = Trial(tested)
        assert trial.noticed(mutant), mutant


def test_a_case_known_to_be_silent_is_preferred_to_an_undecided_one(tiny: Rulebase) -> None:
    mutant = next(m for m in mutants(tiny) if m.what == "'slow' dropped")
    proposal = Proposer(tiny).propose(mutant)
    assert proposal is not None
    assert proposal.lines() == (
        "- given: {differential: 11 psi, slow: no}", "  expect: silent",
    )  # fmt: skip


def test_an_edge_is_told_by_a_value_just_beside_it(tiny: Rulebase) -> None:
    mutant = next(m for m in mutants(tiny) if "low edge at 10.8 psi" in m.what)
    proposal = Proposer(tiny).propose(mutant)
    assert proposal is not None
    # Half way between the edges less the accuracy: low for sure at 15 psi, not so at 10.8 psi.
    assert proposal.lines()[0] == "- given: {differential: 11.5 psi, slow: yes}"


def test_wrong_evidence_is_told_by_what_a_test_that_is_there_finds(tiny: Rulebase) -> None:
    mutant = next(m for m in mutants(tiny) if m.what == "says nothing for 'set-low'")
    proposal = Proposer(tiny).propose(mutant)
    assert proposal is not None
    assert proposal.old is tiny.rules["low-and-slow"].tests[0]
    assert proposal.finds() == "finds: {set-low: likely}"


def test_evidence_against_is_told_by_what_then_speaks_against_the_cause(tiny: Rulebase) -> None:
    mutant = next(m for m in mutants(tiny) if m.what == "says nothing against 'set-low'")
    proposal = Proposer(tiny).propose(mutant)
    assert proposal is not None
    assert proposal.old is tiny.rules["cold-line"].tests[0]
    assert proposal.finds() == "finds: {set-low: weak against}"


def test_evidence_below_the_threshold_is_told_by_the_tests_of_two_rules_together(
    load_tiny: LoadTiny,
) -> None:
    scale = ("{weak: 0.3", "{weak: 0.19", "strong: 0.75", "strong: 0.68", *SCALE[2:])
    turned = ("moderate}\n    evidence_against: {set-low: weak}", "moderate, set-low: weak}")
    base = load_tiny(*scale, *turned)
    mutant = next(
        m for m in mutants(base) if m.id == "cold-line" and m.what == "says nothing for 'set-low'"
    )
    proposal = Proposer(base).propose(mutant)
    assert proposal is not None and proposal.old is None
    assert proposal.lines() == (
        "- given: {rise: 2 F, slow: yes, differential: 8 psi}",
        "  expect: fires",
        "  finds: {set-low: very likely}",
    )


TEXT = """\
rules:
  # about one
  - id: one
    when: [rise is low]
    tests:
      - given: {rise: 2 F}
        expect: fires
      - {given: {rise: 30 F}, expect: silent}
signs: []
"""
PROOF = """\
proof:
  - rule: one
    tests:
      - {given: {rise: 2 F}, expect: fires}
  - rule: two  # about two
    tests:
      - given: {slow: yes}
        expect: fires

coverage: []
"""
SILENT = ("- given: {slow: no}", "  expect: silent")


def test_tests_are_written_after_the_last_one_in_proof_of_their_rule() -> None:
    new = with_proof(PROOF, {"one": [SILENT], "two": [SILENT, SILENT], "three": [SILENT]})
    line = "      - {given: {slow: no}, expect: silent}\n"
    assert new == PROOF.replace(
        "{rise: 2 F}, expect: fires}\n", "{rise: 2 F}, expect: fires}\n" + line
    ).replace(
        "        expect: fires\n",
        f"        expect: fires\n{line}{line}  - rule: three\n    tests:\n{line}",
    )


@pytest.mark.parametrize(("before", "gap"), [("", ""), ("coverage: []\n", "coverage: []\n\n")])
def test_proof_is_begun_where_there_is_none(before: str, gap: str) -> None:
    item = "      - {given: {slow: no}, expect: silent}\n"
    assert with_proof(before, {"one": [SILENT]}) == (
        f"{gap}proof:\n  - rule: one\n    tests:\n{item}"
    )


def test_a_long_test_is_written_on_several_lines() -> None:
    readings = ", ".join(f"reading_number_{number}: 20 F" for number in range(5))
    item = (f"- given: {{{readings}}}", "  expect: fires")
    assert "\n        expect: fires\n" in with_proof("", {"one": [item]})


def test_what_a_test_finds_is_written_under_what_it_expects() -> None:
    new, no_room = with_finds(TEXT, {6: "finds: {set-low: likely}"})
    assert no_room == set()
    assert new == TEXT.replace(
        "        expect: fires\n", "        expect: fires\n        finds: {set-low: likely}\n"
    )


def test_a_test_on_one_line_has_no_room_for_what_it_finds() -> None:
    assert with_finds(TEXT, {8: "finds: {set-low: not found}"}) == (TEXT, {8})


def test_a_test_in_proof_is_proposed_again_with_what_it_finds(load_tiny: LoadTiny) -> None:
    """The one line that is there stays; the whole test stands after it, with its edge."""
    beside = "      - {given: {differential: 8 psi, slow: yes}, expect: fires}\n"
    apart = "proof:\n  - rule: low-and-slow\n    tests:\n" + beside.replace(
        "fires}", "fires, edge: differential-limit low}"
    )
    base = load_tiny(beside, "")
    path = Path(base.rules["low-and-slow"].place.path)
    proof = path.with_name("proof.yaml")
    proof.write_text(apart, encoding="utf-8")
    base = load_rulebase(path.parent)
    mutant = next(m for m in mutants(base) if m.what == "says nothing for 'set-low'")
    proposal = Proposer(base).propose(mutant)
    assert proposal is not None and proposal.old is not None
    assert changed_files(base, [proposal]) == {
        str(proof): apart + "      - {given: {differential: 8 psi, slow: yes}, expect: fires, "
        "finds: {set-low: likely}, edge: differential-limit low}\n"
    }
