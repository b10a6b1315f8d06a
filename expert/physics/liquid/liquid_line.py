"""From the receiver to the expansion valve: lift, line drop, drier, what is left of subcooling.

`FORMULAS` holds those of the receiver and the charge too.

Sources: NIST SP 330 (2019), g = 9.80665 m/s2; hydrostatics; CoolProp 8 equations of state (Bell et
al. 2014); energy balance at constant enthalpy.
"""

from __future__ import annotations

import math

from expert.physics.fluids.flash import flash
from expert.physics.fluids.of_context import (
    TABLES,
    absolute,
    liquid_below_bubble,
    named,
    of,
    temperature_error,
)
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.liquid import charge, receiver
from expert.units.kinds import Kind

GRAVITY = 9.80665  # m/s2, standard, NIST SP 330
HIGHEST_LIFT = 100.0  # m, no store is higher


def lift_loss(refrigerant: str, temperature: float, lift: float) -> float:
    """Pressure [Pa] that solid liquid of a temperature [K] loses over a lift [m].

    Below zero for a drop. Raises `OutOfRange`.
    """
    if not -HIGHEST_LIFT <= lift <= HIGHEST_LIFT:
        raise OutOfRange("The lift", lift, -HIGHEST_LIFT, HIGHEST_LIFT, Kind.LENGTH)
    return saturation(refrigerant).liquid_density(temperature) * GRAVITY * lift


def pressure_at_valve(
    refrigerant: str, pressure: float, temperature: float, lift: float, line_drop: float
) -> float:
    """Pressure [Pa absolute] left at the valve of liquid that leaves the receiver.

    Pressure [Pa absolute] and temperature [K] at the receiver outlet, lift [m], drop of line,
    drier and fittings [Pa]. Raises `OutOfRange`.
    """
    if not 0 <= line_drop < pressure:
        raise OutOfRange(
            "The line drop",
            line_drop,
            0.0,
            pressure,
            Kind.PRESSURE_DIFFERENCE,
            "a line cannot lose more than it is given",
        )
    left = pressure - lift_loss(refrigerant, temperature, lift) - line_drop
    low = saturation(refrigerant).bubble_pressure_range.low
    if not left >= low:
        raise OutOfRange(
            "The pressure left at the valve", left, low, math.inf, Kind.ABSOLUTE_PRESSURE,
            "the lift and the line take more than there is",
        )  # fmt: skip
    return left


def drier_temperature_drop(
    refrigerant: str, pressure: float, drop: float, temperature: float
) -> float:
    """Fall of liquid temperature [K] across a drier with a pressure drop [Pa].

    Pressure [Pa absolute] and liquid temperature [K] at the inlet. None until the drop has used
    up the subcooling; then the liquid boils and follows the bubble line. Raises `OutOfRange`.
    """
    if not 0 <= drop < pressure:
        raise OutOfRange(
            "The drier drop",
            drop,
            0.0,
            pressure,
            Kind.PRESSURE_DIFFERENCE,
            "a drier cannot lose more than it is given",
        )
    fluid = saturation(refrigerant)
    before = min(temperature, fluid.bubble_temperature(pressure))
    return max(0.0, before - fluid.bubble_temperature(pressure - drop))


def _lift(context: Context, liquid_temperature: float, lift: float) -> float:
    return lift_loss(named(context), liquid_temperature, lift)


def _valve_pressure(
    context: Context, pressure: float, liquid_temperature: float, lift: float, line_drop: float
) -> float:
    inlet = absolute(context, pressure, "The receiver pressure")
    liquid_temperature = liquid_below_bubble(context, inlet, liquid_temperature)
    return context.gauge(
        pressure_at_valve(named(context), inlet, liquid_temperature, lift, line_drop)
    )


def _valve_subcooling(
    context: Context, pressure: float, liquid_temperature: float, lift: float, line_drop: float
) -> float:
    left = _valve_pressure(context, pressure, liquid_temperature, lift, line_drop)
    return of(context).bubble_temperature(context.absolute(left)) - liquid_temperature


def _flash_gas(
    context: Context, pressure: float, liquid_temperature: float, lift: float, line_drop: float
) -> float:
    left, liquid = _at_valve(context, pressure, liquid_temperature, lift, line_drop)
    return flash(named(context), liquid, left).mass_share


def _flash_volume(
    context: Context, pressure: float, liquid_temperature: float, lift: float, line_drop: float
) -> float:
    left, liquid = _at_valve(context, pressure, liquid_temperature, lift, line_drop)
    return flash(named(context), liquid, left).volume_share


def _at_valve(
    context: Context, pressure: float, liquid_temperature: float, lift: float, line_drop: float
) -> tuple[float, float]:
    """Pressure [Pa absolute] and temperature [K] of the liquid at the valve."""
    left = _valve_pressure(context, pressure, liquid_temperature, lift, line_drop)
    inlet = absolute(context, pressure, "The receiver pressure")
    return context.absolute(left), liquid_below_bubble(context, inlet, liquid_temperature)


def _drier_temperature(
    context: Context, pressure: float, drop: float, liquid_temperature: float
) -> float:
    inlet = absolute(context, pressure, "The pressure before the drier")
    liquid = liquid_below_bubble(context, inlet, liquid_temperature)
    return drier_temperature_drop(named(context), inlet, drop, liquid)


def _drier_hidden(context: Context, pressure: float, liquid_temperature: float) -> float:
    inlet = absolute(context, pressure, "The pressure before the drier")
    liquid = liquid_below_bubble(context, inlet, liquid_temperature)
    return max(0.0, inlet - of(context).bubble_pressure(liquid))


def _drier_saturation(context: Context, pressure: float, drop: float) -> float:
    inlet = absolute(context, pressure, "The pressure before the drier")
    fluid = of(context)
    return fluid.bubble_temperature(inlet) - fluid.bubble_temperature(inlet - drop)


_LINE = {
    "pressure": Kind.GAUGE_PRESSURE,
    "liquid_temperature": Kind.TEMPERATURE,
    "lift": Kind.LENGTH,
    "line_drop": Kind.PRESSURE_DIFFERENCE,
}
_LINE_VALID = (
    "pressure and liquid temperature at the receiver outlet; line drop with drier and solenoid; "
    "no heat gained on the way"
)
_DRIER_VALID = "pressure and liquid temperature before the drier, normal flow, solid liquid"

_FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="liquid_line_lift_loss",
        title="pressure lost by lifting liquid",
        inputs={"liquid_temperature": Kind.TEMPERATURE, "lift": Kind.LENGTH},
        output=Kind.PRESSURE_DIFFERENCE,
        text="liquid density x standard gravity x lift",
        source=f"published: NIST SP 330 (2019), g = 9.80665 m/s2; hydrostatics; {TABLES}",
        compute=_lift,
        basis="bubble",
        validity="a line full of solid liquid; lift counted upwards",
        signed=("lift",),
        needs_refrigerant=True,
    ),
    Formula(
        name="valve_inlet_pressure",
        title="liquid pressure left at the expansion valve",
        inputs=_LINE,
        output=Kind.GAUGE_PRESSURE,
        text="receiver pressure - lift loss - line drop",
        source=f"computed: hydrostatics; {TABLES}",
        compute=_valve_pressure,
        basis="bubble",
        validity=_LINE_VALID,
        signed=("lift",),
        needs_refrigerant=True,
    ),
    Formula(
        name="valve_inlet_subcooling",
        title="subcooling left at the expansion valve",
        inputs=_LINE,
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="bubble temperature of (receiver pressure - lift loss - line drop) - liquid "
        "temperature; below zero the liquid flashes",
        source=f"computed: hydrostatics; {TABLES}",
        compute=_valve_subcooling,
        basis="bubble",
        validity=_LINE_VALID,
        signed=("lift",),
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="flash_gas",
        title="flash gas at the expansion valve, by mass",
        inputs=_LINE,
        output=Kind.SHARE,
        text="vapour share of the mass at the valve pressure and the enthalpy of the liquid; zero "
        "while subcooling is left",
        source="computed: energy balance at constant enthalpy; CoolProp 8 equations of state "
        "(Bell et al. 2014)",
        compute=_flash_gas,
        basis="bubble and dew",
        validity=_LINE_VALID,
        signed=("lift",),
        needs_refrigerant=True,
        bends=True,
    ),
    Formula(
        name="flash_gas_volume",
        title="flash gas at the expansion valve, by volume",
        inputs=_LINE,
        output=Kind.SHARE,
        text="vapour volume / (vapour + liquid volume) of the flash gas, both at one speed",
        source="computed: energy balance at constant enthalpy; CoolProp 8 equations of state "
        "(Bell et al. 2014)",
        compute=_flash_volume,
        basis="bubble and dew",
        validity=_LINE_VALID,
        signed=("lift",),
        needs_refrigerant=True,
        bends=True,
    ),
    Formula(
        name="drier_temperature_drop",
        title="temperature fall that a drier drop causes",
        inputs={
            "pressure": Kind.GAUGE_PRESSURE,
            "drop": Kind.PRESSURE_DIFFERENCE,
            "liquid_temperature": Kind.TEMPERATURE,
        },
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="liquid temperature - bubble temperature after the drier, not below zero: subcooled "
        "liquid shows none until the subcooling is used up",
        source=TABLES,
        compute=_drier_temperature,
        basis="bubble",
        validity=_DRIER_VALID,
        needs_refrigerant=True,
        model_error=temperature_error,
        bends=True,
    ),
    Formula(
        name="drier_hidden_pressure_drop",
        title="drier drop that shows no temperature fall",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "liquid_temperature": Kind.TEMPERATURE},
        output=Kind.PRESSURE_DIFFERENCE,
        text="pressure before the drier - bubble pressure of the liquid temperature",
        source=TABLES,
        compute=_drier_hidden,
        basis="bubble",
        validity=_DRIER_VALID,
        needs_refrigerant=True,
        bends=True,
    ),
    Formula(
        name="drier_saturation_drop",
        title="drier drop as a change of saturation temperature",
        inputs={"pressure": Kind.GAUGE_PRESSURE, "drop": Kind.PRESSURE_DIFFERENCE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="bubble temperature before the drier - bubble temperature after it: the subcooling "
        "it takes",
        source=TABLES,
        compute=_drier_saturation,
        basis="bubble",
        validity=_DRIER_VALID,
        needs_refrigerant=True,
    ),
)

FORMULAS: tuple[Formula, ...] = (*receiver.FORMULAS, *charge.FORMULAS, *_FORMULAS)
