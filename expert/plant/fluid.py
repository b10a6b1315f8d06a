"""Properties of a refrigerant over whole arrays: saturation from the tables, gas from short fits.

Kelvin, pascal absolute, J/kg, J/(kg K), kg/m3. Beyond the ends of a table a value is held at the
end: a solver that strays comes back, and where it does not, the plant is told as unsolved.
Liquid is taken as saturated liquid of its temperature (pressure does not count).
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from expert.physics.fluids.saturation import saturation

Array = NDArray[Any]
FILE = "fluids.json"
X_CENTRE, X_SCALE, Y_SCALE = 280.0, 60.0, 60.0
_POINTS = 900  # of a line; the error of straight pieces is far below a thousandth of a kelvin


def design_matrix(dew: Array, more: Array, degrees: tuple[int, int]) -> Array:
    """Products of powers of scaled dew temperature [K] and superheat [K], a row for each point."""
    x, y = (dew - X_CENTRE) / X_SCALE, more / Y_SCALE
    columns = [x**i * y**j for j in range(degrees[1] + 1) for i in range(degrees[0] + 1)]
    return np.stack(columns, axis=-1)


class Fluid:
    """One refrigerant. Every method takes and gives arrays of any one shape."""

    def __init__(self, name: str) -> None:
        sat = saturation(name)
        data = _data()["refrigerants"]
        if name not in data:
            raise KeyError(f"the plant knows {', '.join(data)}; not {name}")
        fits = data[name]
        self.name = name
        grid = np.linspace(sat.dew_range.low + 0.01, sat.dew_range.high - 0.01, _POINTS)
        self._dew_t = grid
        self._dew_ln = np.log([sat.dew_pressure(float(t)) for t in grid])
        self._vapour = np.array([sat.vapour_density(float(t)) for t in grid])
        grid = np.linspace(sat.bubble_range.low + 0.01, sat.bubble_range.high - 0.01, _POINTS)
        self._bubble_t = grid
        self._bubble_ln = np.log([sat.bubble_pressure(float(t)) for t in grid])
        self._liquid = np.array([sat.liquid_density(float(t)) for t in grid])
        span = np.linspace(
            max(self._dew_ln[0], self._bubble_ln[0]),
            min(self._dew_ln[-1], self._bubble_ln[-1]),
            900,
        )
        self._mid_ln, self._mid_t = span, self.mid_t(np.exp(span))
        nx, ny = (each + 1 for each in fits["degrees"])
        self._gas: dict[str, Array] = {
            what: np.reshape(np.array(fits[what]), (int(ny), int(nx))).T
            for what in ("enthalpy", "entropy", "log_density")
        }
        self._liquid_h = np.array(fits["liquid_enthalpy"])

    def dew_t(self, p: Array) -> Array:
        """Dew temperature of a pressure."""
        return np.interp(np.log(p), self._dew_ln, self._dew_t)

    def bubble_t(self, p: Array) -> Array:
        """Bubble temperature of a pressure."""
        return np.interp(np.log(p), self._bubble_ln, self._bubble_t)

    def mid_t(self, p: Array) -> Array:
        """Mean of dew and bubble temperature of a pressure."""
        return (self.dew_t(p) + self.bubble_t(p)) / 2

    def dew_p(self, t: Array) -> Array:
        """Pressure of a dew temperature."""
        return np.exp(np.interp(t, self._dew_t, self._dew_ln))

    def bubble_p(self, t: Array) -> Array:
        """Pressure of a bubble temperature."""
        return np.exp(np.interp(t, self._bubble_t, self._bubble_ln))

    def mid_p(self, t: Array) -> Array:
        """Pressure at which the mean of dew and bubble temperature is this."""
        return np.exp(np.interp(t, self._mid_t, self._mid_ln))

    def liquid_rho(self, t: Array) -> Array:
        """Density of liquid of a temperature."""
        return np.asarray(np.interp(t, self._bubble_t, self._liquid))

    def vapour_rho(self, p: Array) -> Array:
        """Density of saturated vapour at a pressure."""
        return np.asarray(np.interp(self.dew_t(p), self._dew_t, self._vapour))

    def liquid_h(self, t: Array) -> Array:
        """Enthalpy of liquid of a temperature."""
        return _horner(self._liquid_h, (t - X_CENTRE) / X_SCALE)

    def gas_h_at(self, p: Array) -> Callable[[Array], Array]:
        """Enthalpy as a function of superheat at fixed pressures: quicker where it is sought."""
        rows = self._rows("enthalpy", p)
        return lambda more: _horner(rows, more / Y_SCALE)

    def gas_h(self, p: Array, more: Array) -> Array:
        """Enthalpy of gas at a pressure, so many kelvin above its dew temperature."""
        return self._of("enthalpy", p, more)

    def vapour_h(self, p: Array) -> Array:
        """Enthalpy of saturated vapour at a pressure."""
        return _horner(self._gas["enthalpy"][:, 0], (self.dew_t(p) - X_CENTRE) / X_SCALE)

    def gas_s(self, p: Array, more: Array) -> Array:
        """Entropy of gas at a pressure and superheat."""
        return self._of("entropy", p, more)

    def gas_rho(self, p: Array, more: Array) -> Array:
        """Density of gas at a pressure and superheat."""
        return np.exp(self._of("log_density", p, more))

    def superheat_of_h(self, p: Array, h: Array) -> Array:
        """Superheat at which gas of a pressure has an enthalpy; below zero where it is wet."""
        return self._inverse("enthalpy", p, h)

    def superheat_of_s(self, p: Array, s: Array) -> Array:
        """Superheat at which gas of a pressure has an entropy."""
        return self._inverse("entropy", p, s)

    def quality(self, p: Array, h: Array) -> Array:
        """Vapour share of the mass at a pressure and enthalpy, held between 0 and 1.

        On a straight line between bubble and dew, which is a few per cent off for blends.
        """
        low = self.liquid_h(self.bubble_t(p))
        return np.asarray(np.clip((h - low) / (self.vapour_h(p) - low), 0.0, 1.0))

    def mixed_rho(self, p: Array, t: Array, x: Array) -> Array:
        """Density of liquid of a temperature with a vapour share of the mass, both at one speed."""
        liquid = self.liquid_rho(np.minimum(t, self.bubble_t(p)))
        return 1.0 / (x / self.vapour_rho(p) + (1.0 - x) / liquid)

    def _rows(self, what: str, p: Array) -> Array:
        x = (self.dew_t(p) - X_CENTRE) / X_SCALE
        powers = self._gas[what]
        return _horner(powers.reshape(*powers.shape, *_ones(x)), x)

    def _of(self, what: str, p: Array, more: Array) -> Array:
        return _horner(self._rows(what, p), more / Y_SCALE)

    def _inverse(self, what: str, p: Array, wanted: Array) -> Array:
        rows = self._rows(what, p)
        slopes = rows[1:] * np.arange(1, len(rows)).reshape(-1, *_ones(wanted))
        y = (wanted - rows[0]) / rows[1]
        for _ in range(5):
            y = np.minimum(np.maximum(y, -1.0), 2.6)
            y = y - (_horner(rows, y) - wanted) / _horner(slopes, y)
        return np.asarray(y * Y_SCALE)


def _ones(like: Array) -> tuple[int, ...]:
    return (1,) * np.ndim(like)


def _horner(rows: Array, y: Array) -> Array:
    total = rows[-1] * y  # a new array, in which the rest is done
    total += rows[-2]
    for row in rows[-3::-1]:
        total *= y
        total += row
    return np.asarray(total)


@cache
def _data() -> dict[str, Any]:
    text = resources.files("expert.plant").joinpath(FILE).read_text("utf-8")
    return json.loads(text)  # type: ignore[no-any-return]


@cache
def fluid(name: str) -> Fluid:
    """The refrigerant of a name such as 'R-449A'. Raises KeyError for one that is not fitted."""
    return Fluid(name)
