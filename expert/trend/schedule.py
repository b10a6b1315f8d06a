"""Defrosts held against the schedule: which are missed, and whether there are too many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from expert.trend.curves import Curve

DAY = 86400.0
_NEAR = 0.2  # of the interval: a gap so close to an expected defrost may hide it


@dataclass(frozen=True)
class Adherence:
    """How the schedule was kept: `missed` are the times [s] at which a defrost was expected.

    `interval` [s] is that of the schedule, or else the usual one, and None where neither is
    known; `hidden` counts expected defrosts that lie in a gap; `against` is found over scheduled.
    Where samples lie too far apart to show every defrost, `shows` is false and nothing is counted.
    """

    interval: float | None
    missed: tuple[float, ...] = ()
    hidden: int = 0
    against: float | None = None
    shows: bool = True


def gaps_of(curve: Curve, start: float, end: float, longest: float) -> list[tuple[float, float]]:
    """Times [s] in which a curve has no sample for longer than `longest`, within a log."""
    edges = np.concatenate(([start], curve.t[(curve.t >= start) & (curve.t <= end)], [end]))
    wide = np.flatnonzero(np.diff(edges) > longest)
    return [(float(edges[at]), float(edges[at + 1])) for at in wide]


def held_against(
    starts: Sequence[float],
    per_day: float | None,
    start: float,
    end: float,
    gaps: Sequence[tuple[float, float]],
    missed_after: float,
    fewest: int,
    shows: bool = True,
) -> Adherence:
    """Defrosts that began at `starts` against `per_day` [1/s] over a log from start to end.

    What a gap may hide is not called missed.
    """
    interval = 1 / per_day if per_day else None
    if interval is None and len(starts) > fewest:
        interval = float(np.median(np.diff(starts)))
    if not shows or interval is None or end - start < 1.5 * interval:
        return Adherence(interval, shows=shows)
    missed: list[float] = []
    hidden = 0
    marks = [start, *starts, end]
    for number, (one, other) in enumerate(pairwise(marks)):
        apart = (other - one) / interval
        inner = 0 < number < len(marks) - 2
        if apart <= missed_after:
            continue
        count = round(apart) - 1 if inner else int(apart - missed_after) + 1
        for each in range(count):
            expected = one + (other - one) * (each + 1) / (count + 1)
            reach = _NEAR * interval
            if any(a < expected + reach and b > expected - reach for a, b in gaps):
                hidden += 1
            else:
                missed.append(expected)
    seen = end - start - sum(b - a for a, b in gaps)
    against = len(starts) * interval / seen if per_day and seen > 2 * interval else None
    return Adherence(interval, tuple(missed), hidden, against)
