"""What formulas share: the saturation of the context's refrigerant and the model's own error."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import Saturation, saturation
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import FAHRENHEIT, Kind

DEFINITION = "definition"
TABLES = "saturation from CoolProp 8 equations of state (Bell et al. 2014)"


def of(context: Context) -> Saturation:
    """Saturation of the refrigerant of a context. Raises `PhysicsError` without one."""
    return saturation(named(context))


def named(context: Context) -> str:
    """Name of the refrigerant of a context. Raises `PhysicsError` without one."""
    if context.refrigerant is None:
        raise PhysicsError("The refrigerant is not known, so there is no saturation.")
    return context.refrigerant


def temperature_error(context: Context) -> float:
    """Uncertainty of a saturation temperature from the model alone [K]."""
    return refrigerant(named(context)).model_error


def pressure_error(
    slope: Callable[[Saturation, float], float], temperature: Callable[[Mapping[str, float]], float]
) -> Callable[[Context, Mapping[str, float]], float]:
    """The model's error as a pressure [Pa]: its error in temperature times dp/dT there."""

    def error(context: Context, values: Mapping[str, float]) -> float:
        return slope(of(context), temperature(values)) * temperature_error(context)

    return error


BOILS = 2 * FAHRENHEIT  # K; two ordinary instruments may be off by that


def liquid_below_bubble(context: Context, pressure: float, temperature: float) -> float:
    """The temperature [K] of liquid at a pressure [Pa absolute], at most the bubble temperature.

    Raises `OutOfRange` where it is warmer by more than two ordinary instruments may be off: it
    would not be all liquid.
    """
    bubble = of(context).bubble_temperature(pressure)
    if temperature > bubble + BOILS:
        raise OutOfRange(
            "The liquid temperature",
            temperature,
            -math.inf,
            bubble,
            Kind.TEMPERATURE,
            "warmer than the bubble temperature of its pressure it is not all liquid, or a "
            "reading, the refrigerant or the barometer is wrong",
        )
    return min(temperature, bubble)


def suction_held(context: Context, pressure: float) -> float:
    """A suction set point [Pa absolute] that a rack can hold, as gauge pressure [Pa].

    Raises `OutOfRange` below the table: no rack runs there.
    """
    low = of(context).dew_pressure_range.low
    if not pressure >= low:
        raise OutOfRange(
            "The suction set point", pressure, low, math.inf, Kind.ABSOLUTE_PRESSURE,
            "no rack holds less: the allowance, the line drop or the temperature is wrong",
        )  # fmt: skip
    return context.gauge(pressure)


def absolute(context: Context, gauge: float, what: str) -> float:
    """Absolute pressure [Pa], above perfect vacuum. Raises `OutOfRange`."""
    value = context.absolute(gauge)
    if not value > 0:
        raise OutOfRange(
            what,
            gauge,
            -context.barometer,
            float("inf"),
            Kind.GAUGE_PRESSURE,
            "no gauge can read below perfect vacuum",
        )
    return value
