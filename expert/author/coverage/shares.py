"""Shares that never round up: 9,999 of 10,000 is 99.9 %, and only all is 100 %."""

from __future__ import annotations

from fractions import Fraction


def share_text(part: int, whole: int) -> str:
    """'99.9 %', cut after one decimal and not rounded; '100 %' only for all; of nothing, all."""
    if part == whole:
        return "100 %"
    tenths = part * 1000 // whole
    return f"{tenths // 10}.{tenths % 10} %"


def reaches(part: int, whole: int, percent: Fraction) -> bool:
    """Whether a share is at least so many per cent, exactly."""
    return part * 100 >= percent * whole
