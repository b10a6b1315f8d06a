"""What becomes of liquid whose pressure has fallen below its bubble pressure."""

from __future__ import annotations

from typing import Any

from expert.made_when_used import dataclass
from expert.physics.fluids import single_phase
from expert.physics.fluids.coolprop_door import library, state
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import saturation


@dataclass(frozen=True)
class Flash:
    """Vapour in a boiling liquid: share of the mass and of the volume, both at one speed."""

    mass_share: float
    volume_share: float


NO_FLASH = Flash(0.0, 0.0)
_CLOSE = 1.0  # J/kg, a hundred-thousandth of any latent heat here


def flash(name: str, temperature: float, pressure: float) -> Flash:
    """Flash gas when liquid of a temperature [K] is brought to a pressure [Pa absolute].

    None while the pressure is at or above the bubble pressure of the liquid; then at constant
    enthalpy. Blends by equilibrium at the pressure; where the library finds none, by a straight
    line between bubble and dew (3 % of the mass share too high for R-407F).
    Raises `OutOfRange`, `UnknownRefrigerant`, `NotAvailable`.
    """
    fluid = saturation(name)
    if pressure >= fluid.bubble_pressure(temperature):
        return NO_FLASH
    boiling, dew = fluid.bubble_temperature(pressure), fluid.dew_temperature(pressure)
    low = single_phase.liquid(name, pressure, boiling).enthalpy
    high = single_phase.gas(name, pressure, dew).enthalpy
    wanted = single_phase.liquid(name, fluid.bubble_pressure(temperature), temperature).enthalpy
    straight = max(0.0, (wanted - low) / (high - low))
    if refrigerant(name).blend and (found := _equilibrium(name, pressure, wanted, straight)):
        return found
    gas, liquid = fluid.vapour_density(dew), fluid.liquid_density(boiling)
    return Flash(straight, _volume_share(straight, gas, liquid))


def _equilibrium(name: str, pressure: float, wanted: float, start: float) -> Flash | None:
    """By secant steps on the molar quality; nothing where the library has no solution."""
    one = state(name)
    try:
        low, high = 0.0, start
        before = _enthalpy(one, pressure, low) - wanted
        for _ in range(8):
            miss = _enthalpy(one, pressure, high) - wanted
            if abs(miss) < _CLOSE:
                return _shares(one, high)
            step = miss * (high - low) / (miss - before)
            low, before, high = high, miss, min(max(high - step, 0.0), 1.0)
    except (ValueError, ZeroDivisionError):
        pass
    return None


def _enthalpy(one: Any, pressure: float, quality: float) -> float:
    one.update(library().PQ_INPUTS, pressure, quality)
    return float(one.hmass())


def _shares(one: Any, quality: float) -> Flash | None:
    coolprop = library()
    gas = float(one.saturated_vapor_keyed_output(coolprop.iDmass))
    liquid = float(one.saturated_liquid_keyed_output(coolprop.iDmass))
    if gas > liquid / 2:  # near the critical point the library may return one phase twice
        return None
    moles_of_gas = float(one.saturated_vapor_keyed_output(coolprop.iDmolar))
    moles_of_liquid = float(one.saturated_liquid_keyed_output(coolprop.iDmolar))
    heavy = quality * gas / moles_of_gas
    mass_share = heavy / (heavy + (1 - quality) * liquid / moles_of_liquid)
    return Flash(mass_share, _volume_share(mass_share, gas, liquid))


def _volume_share(mass_share: float, gas: float, liquid: float) -> float:
    vapour = mass_share / gas
    return vapour / (vapour + (1 - mass_share) / liquid)
