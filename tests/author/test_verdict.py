"""What a scenario expects, held against what came out."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from expert.author.scenarios.verdict import ScenarioOutcome
from expert.knowledge.model import Rulebase

Judge = Callable[..., ScenarioOutcome]
WEAK = {"differential": "8 psi", "clearing_time": "24 min"}
ICED = {"rise": "2 F"}
BOTH = {**WEAK, **ICED}  # set-low 0.75 for and 0.3 against; left-iced 0.5, under set-low
GOOD = {"differential": "17 psi", "clearing_time": "10 min"}


@pytest.mark.parametrize(
    ("expect", "readings"),
    [
        ("{first: set-low}", WEAK),
        ("{first: left-iced}", ICED),
        ("{tied: [left-iced, set-low]}", WEAK),
        ("{first: set-low, also: [left-iced]}", BOTH),
        ("{first: set-low, never: [left-iced]}", WEAK),
        ("{none: yes}", GOOD),
        ("{undecided: yes}", {"clearing_time": "24 min"}),
        ("{certainty: {set-low: likely}}", WEAK),
    ],
)
def test_an_expectation_that_is_met_passes(
    judged: Judge, expect: str, readings: dict[str, str]
) -> None:
    assert judged(expect, **readings).passed


@pytest.mark.parametrize(
    ("expect", "readings", "got"),
    [
        ("{first: left-iced}", WEAK, "set-low (0.75)"),
        ("{first: left-iced}", BOTH, "set-low (0.64)"),
        ("{first: set-low}", GOOD, "nothing was found"),
        ("{tied: [left-iced]}", WEAK, "set-low (0.75)"),
        ("{also: [left-iced]}", WEAK, "set-low (0.75)"),
        ("{never: [set-low]}", WEAK, "it was found (0.75)"),
        ("{never: [left-iced]}", BOTH, "it was found (0.50)"),
        ("{none: yes}", WEAK, "set-low (0.75)"),
        ("{undecided: yes}", WEAK, "set-low (0.75)"),
        ("{certainty: {set-low: possible}}", WEAK, "likely (0.75)"),
        ("{certainty: {left-iced: possible}}", WEAK, "not found"),
    ],
)
def test_an_expectation_that_is_not_met_says_what_came_instead(
    judged: Judge, expect: str, readings: dict[str, str], got: str
) -> None:
    (failure,) = judged(expect, **readings).failures
    assert failure.got == got


def test_undecided_fails_where_nothing_is_left_to_measure(
    judged: Judge, load_tiny: Callable[..., Rulebase]
) -> None:
    base = load_tiny("    unless: [not slow]\n", "    unless: [not slow, remark is not known]\n")
    known = {**GOOD, "rise": "30 F", "valve": "open", "remark": "dry"}
    (failure,) = judged("{undecided: yes}", base, **known).failures
    assert failure.expected == "something worth measuring next"


ALIKE = """\
  - id: cold-line-says-the-same
    when: [rise is low]
    evidence_for: {set-low: moderate}
    because: Alike.
    source: from memory
"""
NOT_UNDER = ("leads_to: [left-iced], ", "")
NOT_AGAINST = ("    evidence_against: {set-low: weak}\n", "")


def test_a_cause_may_share_the_first_rank_with_those_it_is_tied_with(
    judged: Judge, with_rules: Callable[..., Rulebase]
) -> None:
    base = with_rules(ALIKE, *NOT_UNDER, *NOT_AGAINST)
    assert judged("{first: set-low, tied: [left-iced]}", base, **ICED).passed
    assert not judged("{first: set-low}", base, **ICED).passed


def test_a_tie_does_not_hold_for_a_cause_that_is_less_certain(
    judged: Judge, with_rules: Callable[..., Rulebase]
) -> None:
    weaker = ALIKE.replace("moderate", "weak")
    base = with_rules(weaker, *NOT_UNDER, *NOT_AGAINST)
    assert not judged("{first: set-low, tied: [left-iced]}", base, **ICED).passed


GATE = """\
gates:
  - {id: stem, action: turn-stem, needs: [valve is open], first: Look., source: from memory}
cautions:
  - {id: hot"""
GATED = (
    "do: [Turn it.]",
    "do: [{action: turn-stem, text: Turn it.}]",
    "cautions:\n  - {id: hot",
    GATE,
)


def test_advice_held_back_is_seen(judged: Judge, load_tiny: Callable[..., Rulebase]) -> None:
    base = load_tiny(*GATED)
    assert judged("{advice_held: [turn-stem]}", base, **WEAK).passed


def test_advice_that_was_given_is_not_held_back(
    judged: Judge, load_tiny: Callable[..., Rulebase]
) -> None:
    base = load_tiny(*GATED)
    (failure,) = judged("{advice_held: [turn-stem]}", base, **WEAK, valve="open").failures
    assert failure.got == "held back: nothing"
