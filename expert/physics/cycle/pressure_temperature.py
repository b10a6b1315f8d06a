"""Pressure to saturation temperature and back, and plain differences.

Sources: CoolProp 8 equations of state (Bell et al. 2014); definition.
"""

from __future__ import annotations

from expert.physics.fluids.of_context import (
    DEFINITION,
    TABLES,
    of,
    pressure_error,
    temperature_error,
)
from expert.physics.fluids.saturation import Saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import Kind

_VALID = (
    "from -80 F or the triple point to 0.9 of the critical pressure, R-744 to its critical point"
)


def dew_temperature(context: Context, pressure: float) -> float:
    """Dew temperature [K] of a gauge pressure [Pa]."""
    return of(context).dew_temperature(context.absolute(pressure))


def bubble_temperature(context: Context, pressure: float) -> float:
    """Bubble temperature [K] of a gauge pressure [Pa]."""
    return of(context).bubble_temperature(context.absolute(pressure))


def mid_temperature(context: Context, pressure: float) -> float:
    """Mean of dew and bubble temperature [K] of a gauge pressure [Pa]."""
    return of(context).mid_temperature(context.absolute(pressure))


def dew_pressure(context: Context, temperature: float) -> float:
    """Gauge pressure [Pa] of a dew temperature [K]."""
    return context.gauge(of(context).dew_pressure(temperature))


def bubble_pressure(context: Context, temperature: float) -> float:
    """Gauge pressure [Pa] of a bubble temperature [K]."""
    return context.gauge(of(context).bubble_pressure(temperature))


def glide(context: Context, pressure: float) -> float:
    """Dew less bubble temperature [K] of a gauge pressure [Pa]."""
    return of(context).glide(context.absolute(pressure))


def _difference(context: Context, upper: float, lower: float) -> float:
    return upper - lower


def _elapsed(context: Context, later: float, earlier: float) -> float:
    if later < earlier:
        raise PhysicsError("The later clock reading is before the earlier one.")
    return later - earlier


def _saturation_temperature(name: str, text: str, line: str) -> Formula:
    return Formula(
        name=f"{name}_temperature",
        title=f"{line} temperature of a pressure",
        inputs={"pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE,
        text=text,
        source=TABLES,
        compute={"dew": dew_temperature, "bubble": bubble_temperature, "mid": mid_temperature}[
            name
        ],
        basis=line.lower(),
        validity=_VALID,
        needs_refrigerant=True,
        model_error=temperature_error,
    )


def _saturation_pressure(name: str, text: str, line: str) -> Formula:
    slope = Saturation.dew_slope if name == "dew" else Saturation.bubble_slope
    return Formula(
        name=f"{name}_pressure",
        title=f"pressure of a {line.lower()} temperature",
        inputs={"temperature": Kind.TEMPERATURE},
        output=Kind.GAUGE_PRESSURE,
        text=text,
        source=TABLES,
        compute=dew_pressure if name == "dew" else bubble_pressure,
        basis=line.lower(),
        validity=_VALID,
        needs_refrigerant=True,
        model_error_at=pressure_error(slope, lambda values: values["temperature"]),
    )


FORMULAS: tuple[Formula, ...] = (
    _saturation_temperature("dew", "temperature at which the last liquid boils away", "Dew"),
    _saturation_temperature("bubble", "temperature at which liquid begins to boil", "Bubble"),
    _saturation_temperature("mid", "(dew temperature + bubble temperature) / 2", "Mid-point"),
    _saturation_pressure("dew", "pressure whose dew temperature is given", "Dew"),
    _saturation_pressure("bubble", "pressure whose bubble temperature is given", "Bubble"),
    Formula(
        name="glide",
        title="glide",
        inputs={"pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="dew temperature - bubble temperature of the same pressure",
        source=TABLES,
        compute=glide,
        basis="dew and bubble",
        validity=_VALID,
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="pressure_difference",
        title="difference of two pressures",
        inputs={"upper": Kind.GAUGE_PRESSURE, "lower": Kind.GAUGE_PRESSURE},
        output=Kind.PRESSURE_DIFFERENCE,
        text="upper pressure - lower pressure",
        source=DEFINITION,
        compute=_difference,
    ),
    Formula(
        name="temperature_difference",
        title="difference of two temperatures",
        inputs={"upper": Kind.TEMPERATURE, "lower": Kind.TEMPERATURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="upper temperature - lower temperature",
        source=DEFINITION,
        compute=_difference,
    ),
    Formula(
        name="time_difference",
        title="time between two clock readings",
        inputs={"later": Kind.DURATION, "earlier": Kind.DURATION},
        output=Kind.DURATION,
        text="later - earlier",
        source=DEFINITION,
        compute=_elapsed,
    ),
)
