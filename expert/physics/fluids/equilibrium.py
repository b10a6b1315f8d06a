"""Dew and bubble points of a blend by equal fugacities, where the library's own flash fails.

The library finds no density for some blends in whole bands of temperature. Its equation of
state is sound there: with densities as unknowns it is only evaluated, never solved.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from expert.physics.fluids.coolprop_door import library, new_state
from expert.physics.frame.physics_errors import PhysicsError

_STEP = 1e-6
_ENOUGH = 1e-11


@dataclass(frozen=True)
class EquilibriumPoint:
    """A point of a dew or bubble line: kelvin, pascal, kg/m3; `unknowns` start the next one."""

    temperature: float
    pressure: float
    density: float
    other_density: float
    unknowns: tuple[float, ...]


class SaturationLine:
    """One line (bubble or dew) of one blend, walked from point to point."""

    def __init__(self, name: str, *, bubble: bool) -> None:
        """`bubble`: the blend is the liquid and its first vapour is sought; else the reverse."""
        coolprop = library()
        self._inputs = coolprop.DmolarT_INPUTS
        self._feed, self._other = new_state(name), new_state(name)
        self._composition = list(self._feed.get_mole_fractions())
        self._other.set_mole_fractions(self._composition)
        liquid, gas = coolprop.iphase_liquid, coolprop.iphase_gas
        self._feed.specify_phase(liquid if bubble else gas)
        self._other.specify_phase(gas if bubble else liquid)

    def start(self, flash: Any, *, bubble: bool) -> tuple[float, ...]:
        """Unknowns of a state that the library solved, to start a walk from."""
        coolprop = library()
        liquid = flash.saturated_liquid_keyed_output(coolprop.iDmolar)
        vapour = flash.saturated_vapor_keyed_output(coolprop.iDmolar)
        other = flash.mole_fractions_vapor() if bubble else flash.mole_fractions_liquid()
        pair = (liquid, vapour) if bubble else (vapour, liquid)
        return tuple(math.log(value) for value in (*pair, *other))

    def point(self, temperature: float, start: tuple[float, ...]) -> EquilibriumPoint:
        """The point at a temperature [K], by Newton's method from a nearby point's unknowns."""
        import numpy as np

        unknowns = np.array(start)
        for _ in range(40):
            residual = np.array(self._residual(temperature, unknowns))
            slopes = np.empty((len(unknowns), len(unknowns)))
            for column in range(len(unknowns)):
                up, down = unknowns.copy(), unknowns.copy()
                up[column] += _STEP
                down[column] -= _STEP
                slopes[:, column] = np.subtract(
                    self._residual(temperature, up), self._residual(temperature, down)
                ) / (2 * _STEP)
            change = np.linalg.solve(slopes, -residual)
            largest = float(np.abs(change).max())
            unknowns = unknowns + change * min(1.0, 0.3 / max(largest, 1e-300))
            if largest < _ENOUGH:
                return self._point(temperature, unknowns)
        raise PhysicsError(f"No equilibrium found at {temperature:.2f} K.")

    def _residual(self, temperature: float, unknowns: Any) -> list[float]:
        amounts = [math.exp(value) for value in unknowns[2:]]
        total = sum(amounts)
        self._feed.update(self._inputs, math.exp(unknowns[0]), temperature)
        self._other.set_mole_fractions([value / total for value in amounts])
        self._other.update(self._inputs, math.exp(unknowns[1]), temperature)
        fugacities = [
            math.log(self._feed.fugacity(i) / self._other.fugacity(i))
            for i in range(len(self._composition))
        ]
        return [*fugacities, (self._feed.p() - self._other.p()) / 1e5, total - 1.0]

    def _point(self, temperature: float, unknowns: Any) -> EquilibriumPoint:
        self._residual(temperature, unknowns)
        return EquilibriumPoint(
            temperature,
            self._feed.p(),
            self._feed.rhomass(),
            self._other.rhomass(),
            tuple(float(value) for value in unknowns),
        )
