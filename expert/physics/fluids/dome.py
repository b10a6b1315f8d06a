"""The saturation dome over enthalpy: what a pressure-enthalpy diagram stands on."""

from __future__ import annotations

from dataclasses import dataclass

from expert.physics.fluids import single_phase
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.physics_errors import PhysicsError


@dataclass(frozen=True)
class Dome:
    """Bubble and dew line as (enthalpy [J/kg], absolute pressure [Pa]), pressure rising.

    Both end where the tables end, at about 0.9 of the critical pressure: the top stays open.
    """

    bubble: tuple[tuple[float, float], ...]
    dew: tuple[tuple[float, float], ...]


def dome(name: str, low: float, count: int = 24) -> Dome:
    """The dome of a refrigerant from an absolute pressure [Pa] up, `count` points a line.

    Raises `UnknownRefrigerant`, `NotAvailable`, and `PhysicsError` where `low` is above the tables.
    """
    fluid = saturation(name)
    bubble, dew = fluid.bubble_pressure_range, fluid.dew_pressure_range
    low, high = max(low, bubble.low, dew.low), min(bubble.high, dew.high)
    if not low < high:
        raise PhysicsError(f"The saturation tables of {name} end below this pressure.")
    ratio = (high / low) ** (1 / (count - 1))
    pressures = [min(max(low * ratio**step, low), high) for step in range(count)]
    left = [(single_phase.liquid(name, p, fluid.bubble_temperature(p)).enthalpy, p)
            for p in pressures]  # fmt: skip
    right = [(single_phase.gas(name, p, fluid.dew_temperature(p)).enthalpy, p) for p in pressures]
    return Dome(tuple(left), tuple(right))
