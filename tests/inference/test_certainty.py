"""Certainty factors against the arithmetic of their publications.

Shortliffe and Buchanan 1975, A model of inexact reasoning in medicine, Mathematical Biosciences
23: the combining functions. Buchanan and Shortliffe (eds.) 1984, Rule-Based Expert Systems,
chapters 10 and 11, for the mixed case as van Melle put it into EMYCIN (both from memory).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.inference.certainty import both, combined
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.model import Rulebase
from expert.knowledge.source import Source

SHARE = st.floats(0, 1)
SMALLER = st.floats(0, 0.99)
FACTOR = st.floats(-1, 1)


@pytest.mark.parametrize(
    ("x", "y", "together"), [(0.4, 0.6, 0.76), (0.5, 0.5, 0.75), (0.0, 0.3, 0.3), (1.0, 0.3, 1.0)]
)
def test_two_supporting_pieces_give_x_plus_y_of_what_is_left(
    x: float, y: float, together: float
) -> None:
    assert combined([x, y]) == pytest.approx(together)
    assert both(x, y) == pytest.approx(x + y * (1 - x))


def test_two_opposing_pieces_give_the_same_with_the_other_sign() -> None:
    assert combined([-0.4, -0.6]) == pytest.approx(-0.76)


@pytest.mark.parametrize(
    ("x", "y", "together"),
    [
        (0.8, -0.3, 0.5 / 0.7),
        (0.6, -0.4, 0.2 / 0.6),
        (-0.8, 0.3, -0.5 / 0.7),
        (0.5, -0.5, 0.0),
        (1.0, -0.5, 1.0),
        (0.7, 0.0, 0.7),
    ],
)
def test_one_for_and_one_against_are_divided_by_one_minus_the_smaller(
    x: float, y: float, together: float
) -> None:
    assert combined([x, y]) == pytest.approx(together)


def test_one_piece_against_does_not_wipe_out_much_support() -> None:
    # The example that led to the EMYCIN form: 0.999 for and 0.8 against was 0.199, became 0.99.
    assert combined([0.999, -0.8]) == pytest.approx(0.995, abs=1e-9)


def test_certain_for_and_certain_against_is_no_certainty_at_all() -> None:
    assert combined([1.0, -1.0]) == 0.0


def test_no_evidence_is_no_certainty() -> None:
    assert combined([]) == 0.0


def test_belief_and_disbelief_are_each_combined_before_they_meet() -> None:
    # MB and MD are kept apart (1975): 0.76 for, 0.51 against, and only then (MB-MD)/(1-min).
    assert combined([0.4, -0.3, 0.6, -0.3]) == pytest.approx((0.76 - 0.51) / (1 - 0.51))


@given(st.lists(FACTOR, max_size=6).flatmap(lambda xs: st.tuples(st.just(xs), st.permutations(xs))))
def test_the_order_of_evidence_does_not_matter(lists: tuple[list[float], list[float]]) -> None:
    one, other = lists
    assert combined(one) == combined(other)


@given(st.lists(FACTOR, max_size=6))
def test_a_certainty_lies_between_minus_one_and_one(factors: list[float]) -> None:
    assert -1.0 <= combined(factors) <= 1.0


@given(st.lists(SMALLER, max_size=5), SMALLER)
def test_more_support_never_lowers_the_certainty(factors: list[float], more: float) -> None:
    assert combined([*factors, more]) >= combined(factors) - 1e-12
    assert combined([*factors, more]) >= max([more, *factors]) - 1e-12


@given(st.lists(st.floats(-0.99, 0.99), max_size=5), SMALLER)
def test_evidence_against_never_raises_the_certainty(factors: list[float], more: float) -> None:
    assert combined([*factors, -more]) <= combined(factors) + 1e-12


@given(st.lists(FACTOR, max_size=5))
def test_for_and_against_are_mirror_images(factors: list[float]) -> None:
    assert combined([-f for f in factors]) == pytest.approx(-combined(factors), abs=1e-12)


@given(SHARE, SHARE, SHARE)
def test_combining_is_associative_for_one_sign(x: float, y: float, z: float) -> None:
    assert both(both(x, y), z) == pytest.approx(both(x, both(y, z)), abs=1e-12)


def test_the_shipped_scale_names_its_source_and_its_published_threshold(
    shipped_rulebase: Rulebase,
) -> None:
    scale = shipped_rulebase.certainty
    assert scale.source.label == "published"
    assert "Shortliffe and Buchanan 1975" in scale.source.detail
    assert scale.threshold == 0.2  # MYCIN's: a premise counts as true above 0.2
    assert scale.strengths == {"weak": 0.3, "moderate": 0.5, "strong": 0.75, "conclusive": 0.95}


@pytest.mark.parametrize(
    ("certainty", "words"),
    [(1.0, "likely"), (0.5, "likely"), (0.49, "possible"), (0.0, "possible")],
)
def test_a_certainty_is_called_by_the_highest_word_it_reaches(certainty: float, words: str) -> None:
    scale = Certainty({}, ((0.5, "likely"), (0.0, "possible")), 0.2, Source("from memory"))
    assert scale.say(certainty) == words
