"""Refusals that many modules share."""

from __future__ import annotations

from expert.physics.frame.physics_errors import OutOfRange, PhysicsError, shown
from expert.units.kinds import Kind

INFINITY = float("inf")
TINY, HUGE = 1e-15, 1e15  # SI of any kind; nothing in a store lies beyond


def above_zero(what: str, value: float, kind: Kind) -> None:
    """Refuses a value [SI] that is not above zero, or not finite. Raises `OutOfRange`."""
    if not TINY <= value <= HUGE:
        raise OutOfRange(what, value, 0.0, INFINITY, kind)


def at_least_zero(what: str, value: float, kind: Kind) -> None:
    """Refuses a value [SI] below zero, or not finite. Raises `OutOfRange`."""
    if not 0 <= value <= HUGE:
        raise OutOfRange(what, value, 0.0, INFINITY, kind)


def not_swapped(upper: str, value: float, lower: str, right: bool) -> None:
    """Refuses two pressures of which the higher one is lower. Raises `PhysicsError`."""
    if not right:
        told = shown(value, Kind.GAUGE_PRESSURE)
        raise PhysicsError(f"{upper} is {told}, below {lower}: they may have changed places.")


def useful_share(value: float) -> None:
    """Refuses a useful share of heat outside 1 to 100 %. Raises `OutOfRange`."""
    if not 0.01 <= value <= 1:
        raise OutOfRange("The useful share", value, 0.01, 1.0, Kind.SHARE)
