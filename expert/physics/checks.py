"""Refusals that many modules share."""

from __future__ import annotations

from expert.physics.errors import OutOfRange
from expert.units.kinds import Kind

INFINITY = float("inf")


def above_zero(what: str, value: float, kind: Kind) -> None:
    """Refuses a value [SI] that is not above zero. Raises `OutOfRange`."""
    if not 0 < value < INFINITY:
        raise OutOfRange(what, value, 0.0, INFINITY, kind, "it must be above zero")


def at_least_zero(what: str, value: float, kind: Kind) -> None:
    """Refuses a value [SI] below zero. Raises `OutOfRange`."""
    if not 0 <= value < INFINITY:
        raise OutOfRange(what, value, 0.0, INFINITY, kind)
