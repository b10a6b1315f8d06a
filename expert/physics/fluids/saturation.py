"""Saturation of every available refrigerant, from the tables of the package.

Dew for the vapour side (superheat, evaporating), bubble for the liquid side (subcooling),
mid-point where the trade averages the two. Source: CoolProp 8 equations of state through
`build_tables`; the tables reproduce them within 0.001 % of pressure.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from functools import cache, cached_property
from pathlib import Path
from typing import Any

from expert.made_when_used import dataclass
from expert.physics.fluids.monotone_curve import MonotoneCurve
from expert.physics.fluids.refrigerants import key, refrigerant
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, shown
from expert.units.kinds import Kind


@dataclass(frozen=True)
class TableRange:
    """A closed interval of an SI value."""

    low: float
    high: float

    def __contains__(self, value: object) -> bool:
        return isinstance(value, int | float) and self.low <= value <= self.high


class Saturation:
    """Dew and bubble lines of one refrigerant: kelvin, pascal absolute, kg/m3.

    Every method raises `OutOfRange` beyond the table: below -80 F or the triple point, and from
    0.9 of the critical pressure or 10 F below the critical temperature upwards (R-744, whose
    equation of state holds there, reaches to 0.04 F below it).
    """

    def __init__(self, table: dict[str, Any]) -> None:
        curves = {name: _curve(knots) for name, knots in table["curves"].items()}
        self.refrigerant: str = table["refrigerant"]
        self.critical_temperature: float = table["critical_T"]
        self.critical_pressure: float = table["critical_p"]
        self.molar_mass: float = table["molar_mass_g_mol"] / 1000
        self.starts_at_triple_point: bool = table["triple_point"]
        self._bubble = curves["bubble"]
        self._dew = curves.get("dew", self._bubble)
        self._liquid = curves.get("liquid_density")
        self._vapour = curves.get("vapour_density")
        self._bubble_range = TableRange(*self._bubble.ends)
        self._dew_range = TableRange(*self._dew.ends)

    @property
    def one_line(self) -> bool:
        """Whether dew and bubble are the same line (a pure fluid)."""
        return self._dew is self._bubble

    @property
    def dew_range(self) -> TableRange:
        """Temperatures [K] for which the dew line is known."""
        return TableRange(self._dew.low, self._dew.high)

    @property
    def bubble_range(self) -> TableRange:
        """Temperatures [K] for which the bubble line is known."""
        return TableRange(self._bubble.low, self._bubble.high)

    @property
    def dew_pressure_range(self) -> TableRange:
        """Absolute pressures [Pa] for which the dew line is known."""
        return self._dew_range

    @property
    def bubble_pressure_range(self) -> TableRange:
        """Absolute pressures [Pa] for which the bubble line is known."""
        return self._bubble_range

    @cached_property
    def mid_range(self) -> TableRange:
        """Temperatures [K] for which the mid-point is known."""
        low, high = self.mid_pressure_range.low, self.mid_pressure_range.high
        return TableRange(self.mid_temperature(low), self.mid_temperature(high))

    @cached_property
    def mid_pressure_range(self) -> TableRange:
        """Absolute pressures [Pa] for which both lines are known."""
        dew, bubble = self._dew_range, self._bubble_range
        return TableRange(max(dew.low, bubble.low), min(dew.high, bubble.high))

    def dew_pressure(self, temperature: float) -> float:
        """Absolute pressure [Pa] whose dew temperature is this [K]."""
        self._check_temperature(temperature, self._dew.low, self._dew.high, "dew")
        return self._dew.value(temperature)

    def bubble_pressure(self, temperature: float) -> float:
        """Absolute pressure [Pa] whose bubble temperature is this [K]."""
        self._check_temperature(temperature, self._bubble.low, self._bubble.high, "bubble")
        return self._bubble.value(temperature)

    def mid_pressure(self, temperature: float) -> float:
        """Absolute pressure [Pa] at which the mean of dew and bubble temperature is this [K]."""
        if self.one_line:
            return self.dew_pressure(temperature)
        span = self.mid_range
        self._check_temperature(temperature, span.low, span.high, "mid-point")
        low, high = self.mid_pressure_range.low, self.mid_pressure_range.high
        if temperature in (span.low, span.high):
            return low if temperature == span.low else high
        pressure = self._dew.value(min(max(temperature, self._dew.low), self._dew.high))
        for _ in range(60):
            pressure = pressure if low <= pressure <= high else (low * high) ** 0.5
            miss = self.mid_temperature(pressure) - temperature
            low, high = (pressure, high) if miss < 0 else (low, pressure)
            if abs(miss) < 1e-11 * temperature:
                break
            pressure -= miss * self._mid_slope_at(pressure)
        return pressure

    def dew_temperature(self, pressure: float) -> float:
        """Dew temperature [K] at an absolute pressure [Pa]."""
        self._check_pressure(pressure, self._dew_range, "dew")
        return self._dew.temperature(pressure)

    def bubble_temperature(self, pressure: float) -> float:
        """Bubble temperature [K] at an absolute pressure [Pa]."""
        self._check_pressure(pressure, self._bubble_range, "bubble")
        return self._bubble.temperature(pressure)

    def mid_temperature(self, pressure: float) -> float:
        """Mean of the dew and bubble temperatures [K] at an absolute pressure [Pa]."""
        return (self.dew_temperature(pressure) + self.bubble_temperature(pressure)) / 2

    def glide(self, pressure: float) -> float:
        """Dew less bubble temperature [K] at an absolute pressure [Pa]."""
        return self.dew_temperature(pressure) - self.bubble_temperature(pressure)

    def liquid_density(self, temperature: float) -> float:
        """Density [kg/m3] of saturated liquid (bubble line) at a temperature [K]."""
        curve = self._density(self._liquid)
        self._check_temperature(temperature, curve.low, curve.high, "liquid")
        return curve.value(temperature)

    def vapour_density(self, temperature: float) -> float:
        """Density [kg/m3] of saturated vapour (dew line) at a temperature [K]."""
        curve = self._density(self._vapour)
        self._check_temperature(temperature, curve.low, curve.high, "vapour")
        return curve.value(temperature)

    def _density(self, curve: MonotoneCurve | None) -> MonotoneCurve:
        if curve is None:
            why = "its own table holds pressures only"
            raise NotAvailable(f"The density of {self.refrigerant}", why)
        return curve

    def dew_slope(self, temperature: float) -> float:
        """dp/dT [Pa/K] of the dew line at a temperature [K]."""
        return self.dew_pressure(temperature) * self._dew.logarithmic_slope(temperature)

    def bubble_slope(self, temperature: float) -> float:
        """dp/dT [Pa/K] of the bubble line at a temperature [K]."""
        return self.bubble_pressure(temperature) * self._bubble.logarithmic_slope(temperature)

    def mid_slope(self, temperature: float) -> float:
        """dp/dT [Pa/K] of the mid-point at a temperature [K]."""
        return self._mid_slope_at(self.mid_pressure(temperature))

    def _mid_slope_at(self, pressure: float) -> float:
        dew = self._dew.logarithmic_slope(self._dew.temperature(pressure))
        bubble = self._bubble.logarithmic_slope(self._bubble.temperature(pressure))
        return pressure / ((1 / dew + 1 / bubble) / 2)

    def _check_temperature(self, value: float, low: float, high: float, line: str) -> None:
        if not low <= value <= high:
            what = f"The {self.refrigerant} {line} temperature"
            raise OutOfRange(
                what,
                value,
                low,
                high,
                Kind.TEMPERATURE,
                self._why(value, low, self.critical_temperature, Kind.TEMPERATURE),
            )

    def _check_pressure(self, value: float, span: TableRange, line: str) -> None:
        if not span.low <= value <= span.high:
            what = f"The {self.refrigerant} {line} pressure"
            raise OutOfRange(
                what,
                value,
                span.low,
                span.high,
                Kind.ABSOLUTE_PRESSURE,
                self._why(value, span.low, self.critical_pressure, Kind.ABSOLUTE_PRESSURE),
            )

    def _why(self, value: float, low: float, critical: float, kind: Kind) -> str:
        if math.isnan(value):
            return "it is not a number"
        if value < low:
            if self.starts_at_triple_point:
                return "below the triple point no liquid exists"
            return "below the table of properties"
        if math.isinf(self.critical_temperature):
            return "above the table of properties"
        if value > critical:
            what = "temperature" if kind is Kind.TEMPERATURE else "pressure"
            return f"above the critical {what} of {shown(critical, kind)} there is no saturation"
        return "this close to the critical point the property model cannot be trusted"


_OWN: dict[str, dict[str, Any] | Callable[[], dict[str, Any]]] = {}


def carry_table(name: str, table: dict[str, Any] | Callable[[], dict[str, Any]]) -> None:
    """Know the saturation of a company's own refrigerant, or what makes it when it is needed."""
    _OWN[key(name)] = table
    saturation.cache_clear()


@cache
def saturation(name: str) -> Saturation:
    """Saturation of a refrigerant, read once. Raises `UnknownRefrigerant`, `NotAvailable`."""
    if _OWN and (own := _OWN.get(key(refrigerant(name).designation))) is not None:
        if refrigerant(name).designation != name:
            return saturation(refrigerant(name).designation)
        return Saturation(own() if callable(own) else own)
    found = _load(key(name))
    if found is None:
        known = refrigerant(name)
        found = _load(key(known.designation))
        if found is None:
            raise NotAvailable(f"Saturation of {known.designation}", "its table has not been built")
    return found


@cache
def _load(compared: str) -> Saturation | None:
    file = Path(__file__).with_name("tables") / f"{compared}.json"
    return Saturation(json.loads(file.read_text("utf-8"))) if file.is_file() else None


def _curve(knots: dict[str, list[float]]) -> MonotoneCurve:
    return MonotoneCurve(knots["T"], knots["ln"], knots["slope"])
