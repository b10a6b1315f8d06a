"""Defrost: whether gas can melt ice, the heat it takes, the gas and time that brings it.

`FORMULAS` holds those of the frost and of the energy comparison too.

Sources: IAPWS R14-08 (2011), melting point of ice; CoolProp 8 equations of state (Bell et al.
2014); energy balance.
"""

from __future__ import annotations

from expert.physics.air.water import MELTING
from expert.physics.fluids import single_phase
from expert.physics.fluids.of_context import TABLES, absolute, named, of, temperature_error
from expert.physics.fluids.saturation import saturation
from expert.physics.frame import refusals
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.refusals import above_zero, at_least_zero
from expert.physics.frost import defrost_energy, heat
from expert.units.kinds import Kind


def gas_effect(refrigerant: str, pressure: float, gas_temperature: float) -> float:
    """Heat [J/kg] that gas of a coil pressure [Pa absolute] and temperature [K] gives up.

    Until it leaves as saturated liquid of the pressure. Raises `OutOfRange`, `NotAvailable`.
    """
    boiling = saturation(refrigerant).bubble_temperature(pressure)
    gas = single_phase.gas(refrigerant, pressure, gas_temperature)
    return gas.enthalpy - single_phase.liquid(refrigerant, pressure, boiling).enthalpy


def gas_flow(heat: float, duration: float, effect: float, useful_share: float) -> float:
    """Gas [kg/s] that brings a heat [J] in a time [s] at an effect [J/kg].

    `useful_share` of its heat reaches coil and frost, the rest goes into air, pan and case.
    Raises `OutOfRange`.
    """
    above_zero("The time", duration, Kind.DURATION)
    return _gas_needed(heat, effect, useful_share) / duration


def defrost_time(heat: float, flow: float, effect: float, useful_share: float) -> float:
    """Time [s] in which a gas flow [kg/s] brings a heat [J]; as `gas_flow`. Raises `OutOfRange`."""
    above_zero("The gas flow", flow, Kind.MASS_FLOW)
    return _gas_needed(heat, effect, useful_share) / flow


def _gas_needed(heat: float, effect: float, useful_share: float) -> float:
    at_least_zero("The heat", heat, Kind.ENERGY)
    above_zero("The heat of the gas", effect, Kind.SPECIFIC_ENERGY)
    refusals.useful_share(useful_share)
    return heat / (effect * useful_share)


def _margin(context: Context, pressure: float) -> float:
    coil = absolute(context, pressure, "The coil pressure")
    return of(context).dew_temperature(coil) - MELTING


def _margin_at_end(context: Context, pressure: float) -> float:
    coil = absolute(context, pressure, "The coil pressure")
    return of(context).bubble_temperature(coil) - MELTING


def _effect(context: Context, pressure: float, gas_temperature: float) -> float:
    coil = absolute(context, pressure, "The coil pressure")
    return gas_effect(named(context), coil, gas_temperature)


def _flow(
    context: Context,
    heat: float,
    duration: float,
    pressure: float,
    gas_temperature: float,
    useful_share: float,
) -> float:
    return gas_flow(heat, duration, _effect(context, pressure, gas_temperature), useful_share)


def _time(
    context: Context,
    heat: float,
    flow: float,
    pressure: float,
    gas_temperature: float,
    useful_share: float,
) -> float:
    return defrost_time(heat, flow, _effect(context, pressure, gas_temperature), useful_share)


_GAS = {"pressure": Kind.GAUGE_PRESSURE, "gas_temperature": Kind.TEMPERATURE}
_MODEL = "CoolProp 8 equations of state (Bell et al. 2014)"
_SHARE_NOTE = (
    "useful share: the part of the heat that reaches coil and frost, about one half (from "
    "memory: tests of reversed-cycle defrosting, ASHRAE Transactions)"
)

_FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="defrost_melting_margin",
        title="condensing temperature of gas in the coil above melting ice",
        inputs={"pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="dew temperature of the coil pressure - 32 F; at or below zero it melts no ice",
        source=f"published: IAPWS R14-08 (2011), melting point of ice; {TABLES}",
        compute=_margin,
        basis="dew",
        validity="pressure at the coil, not at the rack",
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="defrost_melting_margin_at_end",
        title="the last of the gas in the coil above melting ice",
        inputs={"pressure": Kind.GAUGE_PRESSURE},
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="bubble temperature of the coil pressure - 32 F; below zero a blend with glide stops "
        "melting before all of it has condensed",
        source=f"published: IAPWS R14-08 (2011), melting point of ice; {TABLES}",
        compute=_margin_at_end,
        basis="bubble",
        validity="pressure at the coil, not at the rack",
        needs_refrigerant=True,
        model_error=temperature_error,
    ),
    Formula(
        name="defrost_gas_effect",
        title="heat that each pound of hot gas gives up in the coil",
        inputs=_GAS,
        output=Kind.SPECIFIC_ENERGY,
        text="enthalpy of the gas at coil pressure and gas temperature - enthalpy of saturated "
        "liquid at coil pressure",
        source=_MODEL,
        compute=_effect,
        basis="bubble for the liquid that leaves",
        validity="all gas condenses and leaves without subcooling",
        needs_refrigerant=True,
    ),
    Formula(
        name="defrost_gas_flow",
        title="hot gas flow that brings a heat in a time",
        inputs={"heat": Kind.ENERGY, "duration": Kind.DURATION, **_GAS, "useful_share": Kind.SHARE},
        output=Kind.MASS_FLOW,
        text="heat / (useful share x heat of the gas x time)",
        source=f"computed: energy balance; {_MODEL}",
        compute=_flow,
        basis="bubble for the liquid that leaves",
        validity=_SHARE_NOTE,
        needs_refrigerant=True,
    ),
    Formula(
        name="defrost_time_from_heat",
        title="defrost time that a heat and a gas flow mean",
        inputs={"heat": Kind.ENERGY, "flow": Kind.MASS_FLOW, **_GAS, "useful_share": Kind.SHARE},
        output=Kind.DURATION,
        text="heat / (useful share x heat of the gas x gas flow)",
        source=f"computed: energy balance; {_MODEL}",
        compute=_time,
        basis="bubble for the liquid that leaves",
        validity=_SHARE_NOTE,
        needs_refrigerant=True,
    ),
)

FORMULAS: tuple[Formula, ...] = (*_FORMULAS, *heat.FORMULAS, *defrost_energy.FORMULAS)
