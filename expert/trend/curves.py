"""The logged curves of one circuit, and what can be asked of a curve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Curve:
    """Samples that have a value: seconds since 1970 UTC and SI numbers, in order of time."""

    t: Numbers
    x: Numbers

    def __len__(self) -> int:
        return len(self.t)

    def between(self, start: float, end: float) -> Curve:
        """The samples from start to end [s]."""
        first, last = np.searchsorted(self.t, (start, end + 1e-6))
        return Curve(self.t[first:last], self.x[first:last])

    def median(self, start: float, end: float) -> float | None:
        """The median of the samples between two times, None without samples."""
        part = self.between(start, end).x
        return middle(part) if len(part) else None

    def gap_in(self, start: float, end: float, longest: float) -> bool:
        """Whether two neighbouring samples within a time lie further apart than `longest` [s]."""
        if not len(self.t) or self.t[0] > start + longest or self.t[-1] < end - longest:
            return True
        first, last = np.searchsorted(self.t, (start, end))
        part = self.t[max(first - 1, 0) : last + 1]
        return bool(len(part) < 2 or np.diff(part).max() > longest)

    def held(self) -> Numbers:
        """For how long each sample stands [s]: half of the way to each neighbour."""
        if len(self.t) < 2:
            return np.zeros(len(self.t))
        steps = np.diff(self.t)
        return np.convolve(steps, (0.5, 0.5))


@dataclass(frozen=True)
class Curves:
    """What is logged of one circuit, and of the headers that serve it.

    `state` and `valve` hold the place of the choice in the quantity's list. `step` is the usual
    distance of two samples [s].
    """

    step: float
    coil: Curve
    air: Curve
    pressure: Curve
    state: Curve
    valve: Curve
    hot_gas: Curve
    liquid: Curve
    suction: Curve


def middle(values: Numbers) -> float:
    """The median; quicker than numpy's for the few samples of a defrost."""
    ordered = np.sort(values)
    count = len(ordered)
    return float(ordered[(count - 1) // 2] + ordered[count // 2]) / 2


def curve_of(seconds: Numbers, values: NDArray[np.float32] | None) -> Curve:
    """The samples that have a value."""
    if values is None:
        return Curve(np.empty(0), np.empty(0))
    there = ~np.isnan(values)
    return Curve(seconds[there], values[there].astype(float))


def without_stuck(curve: Curve, longest: float) -> tuple[Curve, float]:
    """The curve without stretches of one same value over `longest` [s], and how long these are."""
    if len(curve) < 2:
        return curve, 0.0
    first, last = runs(np.diff(curve.x) == 0)
    keep = np.ones(len(curve), dtype=bool)
    lost = 0.0
    for one, other in zip(first, last, strict=True):
        span = curve.t[other + 1] - curve.t[one]
        if span > longest:
            keep[one : other + 2] = False
            lost += span
    return Curve(curve.t[keep], curve.x[keep]), float(lost)


def runs(true: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First and last index of each unbroken run of true."""
    edges = np.diff(np.concatenate(([0], true.astype(np.int8), [0])))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1


def smooth(curve: Curve) -> Numbers:
    """The median of each sample and its two neighbours, which takes out single spikes."""
    if len(curve) < 3:
        return curve.x
    x = curve.x
    low, high = np.minimum(x[:-2], x[1:-1]), np.maximum(x[:-2], x[1:-1])
    inner = np.maximum(low, np.minimum(high, x[2:]))
    return np.concatenate((x[:1], inner, x[-1:]))


def crossing(curve: Curve, index: int, level: float) -> float:
    """When the line between a sample and the one before it passes a level [s]."""
    before = curve.x[index - 1]
    step = curve.x[index] - before
    share = 0.5 if step == 0 else min(max((level - before) / step, 0.0), 1.0)
    return float(curve.t[index - 1] + share * (curve.t[index] - curve.t[index - 1]))
