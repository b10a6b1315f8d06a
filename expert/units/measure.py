"""A number with its kind: value and uncertainty in SI."""

from __future__ import annotations

import math
from dataclasses import dataclass

from expert.units.kinds import Kind, Unit, unit_for, units_of

SMALL_VACUUM = 100.0  # Pa; less than that below the air is nought on a gauge
DEEP_VACUUM = (0.07, 2666.5)  # Pa, 20,000 microns; psia or bara would hide what people read
SMALL_RISE = (0.5, 333.3)  # Pa, 2,500 microns; a difference this small is one of vacuum readings

DIFFERENCE_OF = {
    Kind.TEMPERATURE: Kind.TEMPERATURE_DIFFERENCE,
    Kind.GAUGE_PRESSURE: Kind.PRESSURE_DIFFERENCE,
    Kind.ABSOLUTE_PRESSURE: Kind.PRESSURE_DIFFERENCE,
}


def difference_kind(kind: Kind) -> Kind:
    """Kind of the difference of two values of a kind; most kinds are their own."""
    return DIFFERENCE_OF.get(kind, kind)


@dataclass(frozen=True)
class Measure:
    """A value in SI with its uncertainty (plus/minus, SI difference; None where unknown)."""

    kind: Kind
    value: float
    plus_minus: float | None = None

    @property
    def low(self) -> float:
        """Lower end of the interval in which the true value lies."""
        return self.value - (self.plus_minus or 0.0)

    @property
    def high(self) -> float:
        """Upper end of the interval in which the true value lies."""
        return self.value + (self.plus_minus or 0.0)


def shown_unit(kind: Kind, value: float, system: str = "us") -> Unit:
    """The unit in which an SI value is shown: that of the system, of a vacuum that of its gauge.

    Gauges read below the air in inches of mercury, deep vacuums in microns.
    """
    if kind is Kind.GAUGE_PRESSURE and system == "us" and value < -SMALL_VACUUM:
        return next(unit for unit in units_of(kind) if unit.name == "inHg vac")
    deep = kind is Kind.ABSOLUTE_PRESSURE and DEEP_VACUUM[0] < value < DEEP_VACUUM[1]
    small = kind is Kind.PRESSURE_DIFFERENCE and SMALL_RISE[0] < abs(value) < SMALL_RISE[1]
    if deep or small:
        return next(unit for unit in units_of(kind) if unit.name == "micron")
    return unit_for(kind, system)


def number_text(number: float, digits: int) -> str:
    """A number rounded for reading; '-0' is written '0'."""
    text = f"{number:.{digits}f}"
    return text.lstrip("-") if float(text) == 0 else text


def with_unit(number: str, unit: Unit) -> str:
    """'8.0 psi', '5280 ft', '3' (no unit)."""
    return f"{number} {unit.name}".rstrip()


def format_value(kind: Kind, value: float, system: str = "us", *, digits: int | None = None) -> str:
    """An SI value as text in a unit system; a gauge below the barometer in inches of mercury."""
    unit = shown_unit(kind, value, system)
    text = number_text(unit.from_si(value), unit.digits if digits is None else digits)
    return with_unit(text.removesuffix(".0") if unit.trim else text, unit)


def format_measure(measure: Measure, system: str = "us", *, plus_minus: bool = True) -> str:
    """A measure as text: '8.0 psi +/- 1.4'."""
    text = format_value(measure.kind, measure.value, system)
    if plus_minus and measure.plus_minus:
        shown = shown_unit(measure.kind, measure.value, system)
        usual = unit_for(measure.kind, system)
        unit = unit_for(difference_kind(measure.kind), system) if shown is usual else shown
        text += f" +/- {number_text(abs(unit.from_si(measure.plus_minus)), max(unit.digits, 1))}"
    return text


def format_both(measure: Measure) -> str:
    """A measure in both unit systems: '8.0 psi (0.55 bar)'; once where they are the same."""
    us = format_value(measure.kind, measure.value, "us")
    si = format_value(measure.kind, measure.value, "si")
    return us if us == si else f"{us} ({si})"


def as_json(measure: Measure, system: str = "us") -> dict[str, object]:
    """`{"value": 23.97, "unit": "psig", "plus_minus": 0.1}`; plus_minus only where known."""
    unit = unit_for(measure.kind, system)
    shown: dict[str, object] = {
        "value": _rounded(unit.from_si(measure.value), unit.digits),
        "unit": unit.name,
    }
    if measure.plus_minus is not None:
        spread = unit_for(difference_kind(measure.kind), system)
        shown["plus_minus"] = _rounded(spread.from_si(measure.plus_minus), spread.digits)
    return shown


def _rounded(number: float, digits: int) -> float:
    """Two digits more than are shown, and never fewer than three that count."""
    leading = math.floor(math.log10(abs(number))) if number else 0
    return round(number, max(digits + 2, 2 - leading))
