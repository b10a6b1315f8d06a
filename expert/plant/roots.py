"""A root in each element of an array at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from expert.plant.fluid import Array


def falling_in(
    miss: Callable[[Array], Array], low: Array, high: Array, *, steps: int,
    at_high: Array | None = None,
) -> Array:  # fmt: skip
    """Where a rising function is zero, by false position with the Illinois halving.

    `miss` must be at or below zero at `low` and above it at `high`; where it is not, the nearer
    end is given.
    """
    below = miss(low)
    above = miss(high) if at_high is None else at_high
    found = high
    last = np.zeros_like(low)
    for _ in range(steps):
        wide = np.where(np.abs(above - below) < 1e-30, 1e-30, above - below)
        found = (low * above - high * below) / wide
        found = np.minimum(np.maximum(found, np.minimum(low, high)), np.maximum(low, high))
        now = miss(found)
        over = now > 0
        side = np.where(over, 1.0, -1.0)
        below = np.where(over, np.where(last > 0, below / 2, below), now)
        above = np.where(over, now, np.where(last < 0, above / 2, above))
        high, low = np.where(over, found, high), np.where(over, low, found)
        last = side
    return np.asarray(found)
