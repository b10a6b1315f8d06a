"""Subcooling, condenser temperature difference, compression ratio.

Sources: definition; CoolProp 8 equations of state (Bell et al. 2014).
"""

from __future__ import annotations

from expert.physics.fluids.of_context import DEFINITION, TABLES, absolute, of, temperature_error
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.refusals import not_swapped
from expert.units.kinds import Kind

BELOW_ZERO_SUBCOOLING = (
    "Subcooling below zero cannot be: vapour in the liquid at the sensor, a wrong sensor, "
    "a wrong refrigerant, or a wrong barometer. Do not read it as subcooling."
)


def subcooling(context: Context, pressure: float, line_temperature: float) -> float:
    """Subcooling [K] of liquid at a gauge pressure [Pa] and line temperature [K], bubble basis.

    Below zero is returned as it is; `subcooling_warning` says what it means.
    """
    return of(context).bubble_temperature(context.absolute(pressure)) - line_temperature


def subcooling_warning(value: float) -> str:
    """What a subcooling [K] below zero means, or nothing."""
    return BELOW_ZERO_SUBCOOLING if value < 0 else ""


def condenser_temperature_difference(
    context: Context, pressure: float, air_temperature: float
) -> float:
    """Dew condensing temperature of a gauge pressure [Pa] less entering air [K], in K."""
    return of(context).dew_temperature(context.absolute(pressure)) - air_temperature


def condenser_warning(value: float) -> str:
    """What a condenser temperature difference [K] below zero means, or nothing."""
    if value >= 0:
        return ""
    return (
        "Nothing condenses into air that is warmer: the rack is off or low on refrigerant, or a "
        "reading, the refrigerant or the barometer is wrong."
    )


def compression_ratio(context: Context, suction: float, discharge: float) -> float:
    """Absolute discharge over absolute suction, both given as gauge pressures [Pa]."""
    below = absolute(context, suction, "The suction pressure")
    above = absolute(context, discharge, "The discharge pressure")
    not_swapped("The discharge pressure", discharge, "the suction pressure", above >= below)
    return above / below


FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="subcooling",
        title="subcooling",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "line_temperature": Kind.TEMPERATURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="bubble temperature of the pressure - line temperature",
        source=f"{DEFINITION}; {TABLES}",
        compute=subcooling,
        basis="bubble",
        validity="pressure and temperature taken at the same place",
        needs_refrigerant=True,
        model_error=temperature_error,
        warn=subcooling_warning,
    ),
    Formula(
        name="condenser_temperature_difference",
        title="condenser temperature difference",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "air_temperature": Kind.TEMPERATURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="dew condensing temperature - temperature of the entering air",
        source=f"{DEFINITION}; {TABLES}",
        compute=condenser_temperature_difference,
        basis="dew condensing",
        validity="a rating on the mid-point basis is smaller by half the glide",
        needs_refrigerant=True,
        model_error=temperature_error,
        warn=condenser_warning,
    ),
    Formula(
        name="compression_ratio",
        title="compression ratio",
        inputs={"suction": Kind.GAUGE_PRESSURE, "discharge": Kind.GAUGE_PRESSURE},
        output=Kind.RATIO,
        text="absolute discharge pressure / absolute suction pressure",
        source=DEFINITION,
        compute=compression_ratio,
        validity="on absolute pressures; gauge pressures give a wrong ratio",
    ),
)
