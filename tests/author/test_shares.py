"""Shares that never round up."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.author.coverage.shares import reaches, share_text


@pytest.mark.parametrize(
    ("part", "whole", "text"),
    [
        (9_999, 10_000, "99.9 %"),
        (99_999, 100_000, "99.9 %"),
        (2, 3, "66.6 %"),
        (0, 3, "0.0 %"),
        (3, 3, "100 %"),
        (0, 0, "100 %"),
    ],
)
def test_a_share_is_cut_and_not_rounded(part: int, whole: int, text: str) -> None:
    assert share_text(part, whole) == text


def test_9999_of_10000_does_not_reach_a_hundred_per_cent() -> None:
    assert not reaches(9_999, 10_000, Fraction(100))
    assert reaches(9_999, 10_000, Fraction("99.99"))
    assert not reaches(9_999, 10_000, Fraction("99.991"))


@given(st.integers(0, 10**6), st.integers(1, 10**6))
def test_the_text_of_a_share_never_says_more_than_there_is(part: int, whole: int) -> None:
    part = min(part, whole)
    shown = Fraction(share_text(part, whole).removesuffix(" %"))
    assert shown * whole <= part * 100
