"""Superheat, coil temperature difference, suction set points, regulator settings.

Sources: definition; CoolProp 8 equations of state (Bell et al. 2014); common practice, no published
source.
"""

from __future__ import annotations

from expert.physics.fluids.of_context import (
    DEFINITION,
    TABLES,
    absolute,
    of,
    pressure_error,
    suction_held,
    temperature_error,
)
from expert.physics.fluids.saturation import Saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.refusals import not_swapped
from expert.units.kinds import Kind

BELOW_ZERO_SUPERHEAT = (
    "Superheat below zero cannot be: liquid at the sensor, a wrong sensor, a wrong refrigerant, "
    "or a wrong barometer. Do not read it as superheat."
)
_COMMON = "common practice"


def superheat(context: Context, pressure: float, line_temperature: float) -> float:
    """Superheat [K] of gas at a gauge pressure [Pa] and a line temperature [K], dew basis.

    Below zero is returned as it is; `superheat_warning` says what it means.
    """
    return line_temperature - of(context).dew_temperature(context.absolute(pressure))


def superheat_warning(value: float) -> str:
    """What a superheat [K] below zero means, or nothing."""
    return BELOW_ZERO_SUPERHEAT if value < 0 else ""


def suction_set_point_shortcut(
    context: Context, case_temperature: float, allowance: float
) -> float:
    """Set point [Pa gauge]: dew pressure at the case temperature [K] less an allowance [Pa]."""
    return suction_held(context, of(context).dew_pressure(case_temperature) - allowance)


def suction_set_point_shortcut_mid(
    context: Context, case_temperature: float, allowance: float
) -> float:
    """Set point [Pa gauge]: mid-point pressure at case temperature [K] less an allowance [Pa]."""
    return suction_held(context, of(context).mid_pressure(case_temperature) - allowance)


def suction_set_point_design(
    context: Context,
    air_temperature: float,
    coil_temperature_difference: float,
    line_drop: float,
) -> float:
    """Set point [Pa gauge]: dew pressure at air [K] less coil difference [K], less drop [Pa]."""
    evaporating = air_temperature - coil_temperature_difference
    return suction_held(context, of(context).dew_pressure(evaporating) - line_drop)


def coil_temperature_difference(context: Context, air_temperature: float, pressure: float) -> float:
    """Air temperature [K] less the dew temperature of the coil's gauge pressure [Pa], in K."""
    return air_temperature - of(context).dew_temperature(context.absolute(pressure))


def line_drop_temperature(context: Context, pressure: float, drop: float) -> float:
    """Fall of dew temperature [K] that a drop [Pa] from a gauge pressure [Pa] causes."""
    fluid, upstream = of(context), context.absolute(pressure)
    return fluid.dew_temperature(upstream) - fluid.dew_temperature(upstream - drop)


def regulator_holding_pressure_dew(context: Context, coil_temperature: float) -> float:
    """Gauge pressure [Pa] that holds a coil at a dew temperature [K]."""
    return context.gauge(of(context).dew_pressure(coil_temperature))


def regulator_holding_pressure_mid(context: Context, coil_temperature: float) -> float:
    """Gauge pressure [Pa] that holds a coil at a mid-point temperature [K]."""
    return context.gauge(of(context).mid_pressure(coil_temperature))


def gas_condensing_temperature(context: Context, pressure: float) -> float:
    """Temperature [K] at which gas of this gauge pressure [Pa] begins to condense in the coil."""
    return of(context).dew_temperature(context.absolute(pressure))


def expansion_valve_pressure_drop(
    context: Context, liquid_pressure: float, evaporating_pressure: float
) -> float:
    """Pressure [Pa] from the valve inlet to the coil, both given as gauge pressures [Pa]."""
    inlet = absolute(context, liquid_pressure, "The liquid pressure")
    outlet = absolute(context, evaporating_pressure, "The evaporating pressure")
    not_swapped("The liquid pressure", liquid_pressure, "the evaporating pressure", outlet <= inlet)
    return inlet - outlet


def coil_warning(value: float) -> str:
    """What a coil temperature difference [K] below zero means, or nothing."""
    if value >= 0:
        return ""
    return (
        "A coil that is warmer than its air does not cool it: the circuit is off or defrosting, "
        "or a reading, the refrigerant or the barometer is wrong."
    )


FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="superheat",
        title="superheat",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "line_temperature": Kind.TEMPERATURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="line temperature - dew temperature of the pressure",
        source=f"{DEFINITION}; {TABLES}",
        compute=superheat,
        basis="dew",
        validity="pressure and temperature taken at the same place",
        needs_refrigerant=True,
        model_error=temperature_error,
        warn=superheat_warning,
    ),
    Formula(
        name="suction_set_point_shortcut",
        title="suction set point, trade shortcut",
        inputs={"case_temperature": Kind.TEMPERATURE, "allowance": Kind.PRESSURE_DIFFERENCE},
        exact=("case_temperature",),
        output=Kind.GAUGE_PRESSURE,
        text="dew pressure at the needed case temperature - allowance of about 10 psi",
        source=f"{_COMMON}, no published source; {TABLES}",
        compute=suction_set_point_shortcut,
        basis="dew",
        validity="a first guess; the allowance stands for coil difference and line drop together",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.dew_slope, lambda values: values["case_temperature"]
        ),
    ),
    Formula(
        name="suction_set_point_shortcut_mid",
        title="suction set point, trade shortcut on the mid-point",
        inputs={"case_temperature": Kind.TEMPERATURE, "allowance": Kind.PRESSURE_DIFFERENCE},
        exact=("case_temperature",),
        output=Kind.GAUGE_PRESSURE,
        text="mid-point pressure at the needed case temperature - allowance of about 10 psi",
        source=f"{_COMMON}, no published source; {TABLES}",
        compute=suction_set_point_shortcut_mid,
        basis="mid-point",
        validity="a first guess, held only against a data sheet on the mid-point",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.mid_slope, lambda values: values["case_temperature"]
        ),
    ),
    Formula(
        name="suction_set_point_design",
        title="suction set point from the design",
        inputs={
            "air_temperature": Kind.TEMPERATURE,
            "coil_temperature_difference": Kind.TEMPERATURE_DIFFERENCE,
            "line_drop": Kind.PRESSURE_DIFFERENCE,
        },
        exact=("air_temperature",),
        output=Kind.GAUGE_PRESSURE,
        text="dew pressure at (air temperature - coil temperature difference) - line drop",
        source=f"{DEFINITION}; {TABLES}",
        compute=suction_set_point_design,
        basis="dew",
        validity="the coil difference must be on the dew basis, from the case maker's data",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.dew_slope,
            lambda values: values["air_temperature"] - values["coil_temperature_difference"],
        ),
    ),
    Formula(
        name="coil_temperature_difference",
        title="coil temperature difference",
        inputs={"air_temperature": Kind.TEMPERATURE, "pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="air temperature - dew temperature of the coil pressure",
        source=f"{DEFINITION}; {TABLES}",
        compute=coil_temperature_difference,
        basis="dew",
        validity="say which air: discharge or return",
        needs_refrigerant=True,
        model_error=temperature_error,
        warn=coil_warning,
    ),
    Formula(
        name="line_drop_temperature",
        title="line drop as a change of saturation temperature",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "drop": Kind.PRESSURE_DIFFERENCE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="dew temperature before the drop - dew temperature after it",
        source=f"{DEFINITION}; {TABLES}",
        compute=line_drop_temperature,
        basis="dew",
        validity="the pressure is that before the drop",
        needs_refrigerant=True,
    ),
    Formula(
        name="regulator_holding_pressure_dew",
        title="regulator holding pressure, dew basis",
        inputs={"coil_temperature": Kind.TEMPERATURE},
        exact=("coil_temperature",),
        output=Kind.GAUGE_PRESSURE,
        text="dew pressure at the wanted coil temperature",
        source=TABLES,
        compute=regulator_holding_pressure_dew,
        basis="dew",
        validity="the coil outlet stands at the given temperature",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.dew_slope, lambda values: values["coil_temperature"]
        ),
    ),
    Formula(
        name="regulator_holding_pressure_mid",
        title="regulator holding pressure, mid-point basis",
        inputs={"coil_temperature": Kind.TEMPERATURE},
        exact=("coil_temperature",),
        output=Kind.GAUGE_PRESSURE,
        text="pressure whose (dew + bubble) / 2 is the wanted coil temperature",
        source=TABLES,
        compute=regulator_holding_pressure_mid,
        basis="mid-point",
        validity="the middle of the coil stands at the given temperature",
        needs_refrigerant=True,
        model_error_at=pressure_error(
            Saturation.mid_slope, lambda values: values["coil_temperature"]
        ),
    ),
    Formula(
        name="gas_condensing_temperature",
        title="condensing temperature of hot gas in the coil",
        inputs={"pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE,
        text="dew temperature of the pressure in the coil",
        source=TABLES,
        compute=gas_condensing_temperature,
        basis="dew",
        validity="the pressure is measured at the coil, not at the rack",
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="expansion_valve_pressure_drop",
        title="pressure across the expansion valve and distributor",
        inputs={
            "liquid_pressure": Kind.GAUGE_PRESSURE,
            "evaporating_pressure": Kind.GAUGE_PRESSURE,
        },
        output=Kind.PRESSURE_DIFFERENCE,
        text="liquid pressure at the valve - evaporating pressure",
        source=DEFINITION,
        compute=expansion_valve_pressure_drop,
        validity="liquid pressure at the valve inlet, after drier and lift",
    ),
)
