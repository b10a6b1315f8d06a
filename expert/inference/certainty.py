"""Certainty factors: how pieces of evidence are combined.

Source: Shortliffe and Buchanan 1975, A model of inexact reasoning in medicine, Mathematical
Biosciences 23 (combining functions for belief and disbelief); the mixed case divides by
1 - min(|x|, |y|) as in van Melle 1980 (EMYCIN), so that one piece of evidence against a
well-supported cause cannot wipe it out.
"""

from __future__ import annotations

from collections.abc import Iterable


def both(one: float, other: float) -> float:
    """Two factors of one sign (0 to 1) together: x + y (1 - x)."""
    return one + other * (1 - one)


def combined(factors: Iterable[float]) -> float:
    """All factors (-1 to 1) together, independent of their order."""
    belief = disbelief = 0.0
    for factor in sorted(factors):
        if factor >= 0:
            belief = both(belief, factor)
        else:
            disbelief = both(disbelief, -factor)
    weaker = min(belief, disbelief)
    return 0.0 if weaker == 1 else (belief - disbelief) / (1 - weaker)
