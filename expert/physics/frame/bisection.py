"""Finding where a rising function crosses zero, without a library."""

from __future__ import annotations

from collections.abc import Callable


def rising_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a function that rises from `low` to `high` is zero, to the last bits of a float.

    The caller makes sure that the zero lies between; an end is returned if it does not.
    """
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if function(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2
