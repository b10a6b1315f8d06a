"""What formulas share: the saturation of the context's refrigerant and the model's own error."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import Saturation, saturation
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind

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
