"""Robust statistics against figures worked out by hand or printed in tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from expert.records.statistics import apart, median, median_interval, quantile, share_interval


def test_median_and_quantile() -> None:
    assert median([1, 2, 9]) == 2
    assert median([1, 2, 4, 9]) == 3
    assert quantile(list(range(1, 11)), 0.9) == 9
    assert quantile([7], 0.9) == 7


@pytest.mark.parametrize(
    ("count", "ranks"),
    # binomial tails: 2 x (1/2)^6 = 3.1 %; 2 x 11/1024 = 2.1 % but 2 x 56/1024 = 10.9 %
    [(1, None), (5, None), (6, (1, 6)), (8, (1, 8)), (9, (2, 8)), (10, (2, 9)), (20, (6, 15))],
)
def test_the_interval_of_the_median(count: int, ranks: tuple[int, int] | None) -> None:
    assert median_interval([float(n) for n in range(1, count + 1)]) == ranks


def test_the_interval_of_a_share() -> None:
    # Wilson: 0 of 10 up to z^2 / (10 + z^2) = 3.8415 / 13.8415; 5 of 10 is 0.2366 to 0.7634
    low, high = share_interval(0, 10) or (1, 1)
    assert (low, round(high, 4)) == (0, 0.2775)
    assert [round(end, 4) for end in share_interval(5, 10) or ()] == [0.2366, 0.7634]
    assert share_interval(0, 0) is None


def test_apart_only_where_nothing_is_in_common() -> None:
    assert apart((1, 2), (3, 4)) and apart((3, 4), (1, 2))
    assert not apart((1, 3), (3, 4)) and not apart(None, (3, 4)) and not apart((3, 4), None)


@given(st.lists(st.integers(0, 999), min_size=1, max_size=60))
def test_the_interval_holds_the_median_and_the_quantile_its_share(values: list[int]) -> None:
    ordered = sorted(map(float, values))
    if interval := median_interval(ordered):
        assert interval[0] <= median(ordered) <= interval[1]
    within = sum(value <= quantile(ordered, 0.9) for value in ordered)
    assert within >= 0.9 * len(ordered)
