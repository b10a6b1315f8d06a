"""Statistics that need no assumption on how values are spread, with their uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, sqrt

UNSURE = 20  # one in twenty lies outside of an interval
_Z = 1.959964  # standard normal, two-sided 95 % (published: NIST/SEMATECH e-Handbook, 1.3.6.7.1)


def median(ordered: Sequence[float]) -> float:
    """The middle of some ordered values, at least one."""
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return float(ordered[middle])
    return (ordered[middle - 1] + ordered[middle]) / 2


def quantile(ordered: Sequence[float], share: float) -> float:
    """The smallest of some ordered values that at least this share of them does not exceed."""
    return float(ordered[max(ceil(share * len(ordered)) - 1, 0)])


def median_interval(ordered: Sequence[float]) -> tuple[float, float] | None:
    """Values between which the median of all such cases lies with 95 % or more.

    From order statistics, whatever the spread; None for fewer than six values, which cannot be
    that sure. From memory: Conover, Practical Nonparametric Statistics, the sign test inverted.
    """
    count = len(ordered)
    ways, tail, kept = 1, 0, -1  # of count coins: exactly rank heads, rank heads or fewer
    for rank in range(count // 2):
        tail += ways
        if 2 * tail * UNSURE > 2**count:
            break
        ways, kept = ways * (count - rank) // (rank + 1), rank
    return (float(ordered[kept]), float(ordered[count - 1 - kept])) if kept >= 0 else None


def share_interval(hits: int, count: int) -> tuple[float, float] | None:
    """Between which the true share lies with about 95 %; None without a case.

    Published: Wilson 1927, Journal of the American Statistical Association 22, score interval.
    """
    if not count:
        return None
    share, square = hits / count, _Z * _Z
    middle = (share + square / (2 * count)) / (1 + square / count)
    half = (
        _Z / (1 + square / count) * sqrt(share * (1 - share) / count + square / (4 * count * count))
    )
    return max(middle - half, 0.0), min(middle + half, 1.0)


def apart(one: tuple[float, float] | None, other: tuple[float, float] | None) -> bool:
    """Whether two intervals have nothing in common."""
    return one is not None and other is not None and (one[1] < other[0] or other[1] < one[0])
