"""A number with its kind: value and uncertainty in SI."""

from __future__ import annotations

import math

from expert.made_when_used import dataclass
from expert.units.kinds import ATMOSPHERE, Kind, Unit, unit_for, units_of

SMALL_VACUUM = 100.0  # Pa; less than that below the air is zero on a gauge
_LONG = 2 * 86400.0  # s; from two days on days are counted (own choice)
DEEP_VACUUM = (0.07, 2666.5)  # Pa, 20,000 microns; psia or bara would hide what people read
SMALL_RISE = (0.5, 333.3)  # Pa, 2,500 microns; a difference this small is one of vacuum readings
# Where zero is no absence: an offset or a difference near zero is shown as zero.
_WITH_ZERO = (Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE, Kind.GAUGE_PRESSURE)
_SIGNIFICANT = 2  # digits of what would else be shown as zero
_NOISE = 1e-12  # of its unit: what is left of a sum of equal numbers
_PRECISION = 12  # digits in JSON: all that a float holds after the conversion of a unit

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


def unit_called(kind: Kind, name: str) -> Unit:
    """The unit of a kind that is called so. Raises LookupError."""
    for unit in units_of(kind):
        if unit.name == name:
            return unit
    raise LookupError(f"{kind} is not measured in {name}")


def shown_unit(kind: Kind, value: float, system: str = "us") -> Unit:
    """The unit in which an SI value is shown: that of the system, of a vacuum that of its gauge.

    Gauges read below the air in inches of mercury, deep vacuums in microns.
    """
    if kind is Kind.GAUGE_PRESSURE and system == "us" and value < -SMALL_VACUUM:
        return unit_called(kind, "inHg vac")
    if kind is Kind.DURATION and abs(value) >= _LONG:
        return unit_called(kind, "day")
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


def significant(number: float, unit: Unit, digits: int | None = None) -> str:
    """A number of a unit as text; one that its digits would show as zero keeps two that count."""
    wanted = unit.digits if digits is None else digits
    least = 10.0**-wanted
    if digits is None and unit.kind not in _WITH_ZERO and _NOISE < abs(number) < least:
        longer = number_text(number, _SIGNIFICANT - 1 - math.floor(math.log10(abs(number))))
        if abs(float(longer)) < least:
            return longer
    return number_text(number, wanted)


def format_value(
    kind: Kind, value: float, system: str = "us", *, digits: int | None = None, unit: str = ""
) -> str:
    """An SI value as text in a unit system, or in a `unit`; a gauge below the barometer in
    inches of mercury.
    """
    chosen = unit_called(kind, unit) if unit else shown_unit(kind, value, system)
    text = significant(chosen.from_si(value), chosen, digits)
    return with_unit(text.removesuffix(".0") if chosen.trim else text, chosen)


def format_measure(
    measure: Measure, system: str = "us", *, plus_minus: bool = True, unit: str = ""
) -> str:
    """A measure as text: '8.0 psi +/- 1.4'."""
    text = format_value(measure.kind, measure.value, system, unit=unit)
    if plus_minus and measure.plus_minus:
        text += f" +/- {spread_text(measure, system, unit=unit)}"
    return text


def spread_text(measure: Measure, system: str = "us", *, unit: str = "") -> str:
    """The plus/minus of a measure as a number in the unit in which its value is shown."""
    shown = shown_unit(measure.kind, measure.value, system)
    usual = unit_for(measure.kind, system)
    chosen = unit_for(difference_kind(measure.kind), system) if shown is usual else shown
    if unit:
        chosen = unit_called(measure.kind, unit)
    spread = (measure.plus_minus or 0.0) / abs(chosen.factor)
    digits = max(chosen.digits, 1)
    if _NOISE < spread < 0.5 * 10.0**-digits:
        digits = -math.floor(math.log10(spread))
    return number_text(spread, digits)


def format_both(measure: Measure, system: str = "us") -> str:
    """A measure in both unit systems, that of the reader first: '8.0 psi (0.55 bar)'; once where
    they are the same."""
    own = format_value(measure.kind, measure.value, system)
    other = format_value(measure.kind, measure.value, "si" if system == "us" else "us")
    return own if own == other else f"{own} ({other})"


def as_json(measure: Measure, system: str = "us") -> dict[str, object]:
    """`{"value": 23.97, "unit": "psig", "plus_minus": 0.1}` in full precision.

    plus_minus stands only where it is known.
    """
    unit = unit_for(measure.kind, system)
    shown: dict[str, object] = {"value": _clean(measure.value, unit), "unit": unit.name}
    if measure.plus_minus is not None:
        spread = unit_for(difference_kind(measure.kind), system)
        shown["plus_minus"] = _clean(measure.plus_minus, spread)
    return shown


def _clean(value: float, unit: Unit) -> float:
    """A number in a unit without the noise of its conversion: 20 F is 20.0, not 19.999999999999."""
    number = unit.from_si(value)
    largest = max(abs(value), abs(unit.offset))  # what was subtracted sets what is lost
    if unit.kind is Kind.GAUGE_PRESSURE:
        largest = max(largest, ATMOSPHERE)
    if not largest or not math.isfinite(number):
        return number
    return round(number, _PRECISION - 1 - math.floor(math.log10(largest / abs(unit.factor))))
