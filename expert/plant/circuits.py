"""Cases with their coils, expansion valves and suction regulators, for given headers.

Coil: effectiveness of its wetted part; the dry rest warms the gas. Valve: an orifice that holds
its superheat as long as it is neither fully open nor at its least opening. Case: air, walls, store
air let in, inner heat, and the water that comes in with the air.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from expert.plant.design import ELECTRONIC, MECHANICAL, NO_REGULATOR, Plants
from expert.plant.fluid import Array, Fluid
from expert.plant.roots import falling_in

AIR_HEAT = 1006.0  # J/(kg K)
FREEZING_HEAT = 2.83e6  # J/kg, vapour to ice
GLIDE_SHARE = 0.35  # the mean of a boiling blend lies so far below its dew point (own choice)
AIR_EXPONENT = 0.6  # of the coil's conductance with its air (common practice, 0.5 to 0.7)
DRIEST = 0.02  # least wetted share that is sought


@dataclass
class Liquid:
    """What stands before each expansion valve (P, c)."""

    pressure: Array
    enthalpy: Array
    temperature: Array
    quality: Array


@dataclass
class Circuits:
    """The circuits' state (P, c). `flow` is the average of a cycling circuit, kg/s."""

    coil_pressure: Array
    after_coil: Array  # before the regulator, in the motor room
    wet: Array
    opening: Array
    superheat: Array
    outlet_h: Array
    outlet_quality: Array
    return_air: Array
    discharge_air: Array
    heat: Array  # W while it cools
    latent: Array
    running: Array
    flow_on: Array
    flow: Array
    regulator_opening: Array


def humidity_ratio(temperature: Array, humidity: Array | float, barometer: Array) -> Array:
    """kg of water per kg of dry air; saturation over ice below freezing (Magnus form)."""
    c = temperature - 273.15
    over_ice = 611.2 * np.exp(22.46 * c / (272.62 + c))
    over_water = 611.2 * np.exp(17.62 * c / (243.12 + c))
    p = humidity * np.where(c < 0, over_ice, over_water)
    return np.asarray(0.622 * p / (barometer - p))


def solve_circuits(
    plants: Plants, fluid: Fluid, header: Array, liquid: Liquid, last: Circuits
) -> Circuits:
    """The circuits at these header pressures (P, c); line losses follow the `last` flows."""
    p = plants
    air = p.case_air * p.air_flow
    ua = p.coil_ua * p.coil_clean * p.coil_even * p.air_flow**AIR_EXPONENT
    rho = fluid.gas_rho(header, np.full_like(header, 8.0))
    speed = last.flow_on**2 / rho
    line, wide = p.branch_suction_drop * speed, p.regulator_drop * speed
    has = p.regulator != NO_REGULATOR
    open_drop = np.where(has, wide / p.regulator_most**2, 0.0)
    after = np.minimum(header + open_drop, 20 * header)
    wanted = _wanted_pressure(p, fluid, air, ua, last, line)
    most = header + np.where(has, wide / np.maximum(p.regulator_least, 1e-3) ** 2, 0.0)
    after = np.where(has, np.minimum(np.maximum(wanted, after), np.maximum(most, after)), header)
    throttled = np.maximum(after - header, 1.0)
    opening = np.where(has, np.clip(np.sqrt(wide / throttled), 0.02, 1.0), 1.0)
    coil = after + line
    dew = fluid.dew_t(coil)
    boiling = dew - GLIDE_SHARE * (dew - fluid.bubble_t(coil))
    latent = _latent(p, last)
    gas_h = fluid.gas_h_at(coil)
    cycles = p.regulator == NO_REGULATOR
    held, held_return = _held(p, air)

    def at(wet: Array) -> tuple[Array, Array, Array, Array]:
        """Return air, heat, superheat, and enthalpy of the outlet at a wetted share."""
        effect = 1.0 - np.exp(-ua * wet / air)
        ret = _return_air(p, air, effect, boiling)
        ret = np.where(cycles, np.maximum(ret, held_return), ret)  # it rests between
        ret = np.minimum(ret, p.store[:, None])  # without cooling, read before it is warmer
        dry = 1.0 - np.exp(-p.superheating * (1.0 - wet))
        return (
            ret,
            effect * air * (ret - boiling) + latent,
            np.maximum(ret - dew, 0.0) * dry,
            effect,
        )

    def flow_at(wet: Array) -> tuple[Array, Array, Array, Array, Array]:
        ret, heat, superheat, effect = at(wet)
        gas = gas_h(superheat)
        return heat / np.maximum(gas - liquid.enthalpy, 2e4), ret, heat, superheat, effect

    target = p.superheat_set - p.superheat_bias
    ret_full, *_ = at(last.wet)
    reach = np.clip(np.maximum(target, 0.0) / np.maximum(ret_full - dew, 0.5), 0.0, 0.97)
    wet_wanted = np.clip(1.0 + np.log(1.0 - reach) / p.superheating, 0.05, 1.0)
    wet_wanted = 0.5 * wet_wanted + 0.5 * np.maximum(last.wet, 0.3 * wet_wanted)
    push = np.maximum(liquid.pressure - coil, 1e3)
    rho_in = fluid.mixed_rho(liquid.pressure, liquid.temperature, liquid.quality)
    per_area = np.sqrt(2.0 * rho_in * push)
    can = per_area * p.valve_area * p.valve_most * p.liquid_on
    least = per_area * p.valve_area * p.valve_least * p.liquid_on + per_area * p.bypass_leak
    needed, *_ = flow_at(wet_wanted)
    all_wet, *_ = flow_at(np.ones_like(coil))
    flooding = np.clip(-target / 6.0, 0.0, 1.0)  # a control that sees too much superheat opens
    asked = needed + flooding * np.maximum(np.minimum(can, 1.7 * all_wet) - needed, 0.0)
    fed = np.maximum(np.minimum(asked, can), least)
    wet = falling_in(
        lambda share: flow_at(share)[0] - fed, np.full_like(coil, DRIEST), np.ones_like(coil),
        steps=7, at_high=all_wet - fed,
    )  # fmt: skip
    wet = np.where(fed >= all_wet, 1.0, wet)
    _, ret, heat, superheat, effect = flow_at(wet)
    outlet = np.where(
        fed >= all_wet, liquid.enthalpy + heat / np.maximum(fed, 1e-6), gas_h(superheat)
    )
    fed = np.where(p.present > 0, np.maximum(fed, 1e-7), 1e-9)
    heat = np.minimum(heat, fed * np.maximum(outlet - liquid.enthalpy, 0.0))
    discharge = ret - effect * (ret - boiling)
    resting = cycles & (discharge < held) & (ret <= held_return + 1e-9)
    ability = np.maximum(effect * air * (held_return - boiling), 1.0)
    running = np.where(resting, air * (held_return - held) / ability, 1.0)
    running = np.clip(running, 0.05, 1.0)
    discharge = np.where(resting, held, discharge)
    return Circuits(
        coil_pressure=coil,
        after_coil=after,
        wet=wet,
        opening=np.clip(fed / np.maximum(per_area * p.valve_area, 1e-12), 0.0, 1.0),
        superheat=superheat,
        outlet_h=outlet,
        outlet_quality=fluid.quality(coil, outlet),
        return_air=ret,
        discharge_air=discharge,
        heat=heat,
        latent=latent,
        running=running,
        flow_on=0.5 * fed + 0.5 * last.flow_on,
        flow=(0.5 * fed + 0.5 * last.flow_on) * running,
        regulator_opening=opening,
    )


def _return_air(p: Plants, air: Array, effect: Array, boiling: Array) -> Array:
    """Air that comes back to the coil, from the balance of the case's sensible heat."""
    store = p.store[:, None]
    top = (
        effect * air * boiling
        + p.case_ua * (store - effect / 2 * boiling)
        + p.infiltration * p.case_air * store
        + p.internal
    )
    exchanged = p.infiltration * p.case_air
    return np.asarray(top / (effect * air + p.case_ua * (1 - effect / 2) + exchanged))


def _held(p: Plants, air: Array) -> tuple[Array, Array]:
    """Discharge air that the control holds, and the return air that goes with it."""
    discharge = p.case_set - p.case_sensor_bias
    store = p.store[:, None]
    let_in = p.infiltration * p.case_air
    top = air * discharge + p.case_ua * (store - discharge / 2) + let_in * store
    ret = (top + p.internal) / (air + p.case_ua / 2 + let_in)
    return discharge, ret


def _wanted_pressure(
    p: Plants, fluid: Fluid, air: Array, ua: Array, last: Circuits, line: Array
) -> Array:
    """Pressure before the regulator that it strives for; zero where there is none."""
    discharge, ret = _held(p, air)
    effect = 1.0 - np.exp(-ua * last.wet / air)
    boiling = ret - (ret - discharge) / effect
    glide = fluid.dew_t(last.coil_pressure) - fluid.bubble_t(last.coil_pressure)
    electronic = fluid.dew_p(boiling + GLIDE_SHARE * glide) - line
    wanted = np.where(p.regulator == ELECTRONIC, electronic, 0.0)
    return np.where(p.regulator == MECHANICAL, p.regulator_set, wanted)


def _latent(p: Plants, last: Circuits) -> Array:
    """Heat of the water that comes in with store air and freezes on the coil."""
    barometer = p.barometer[:, None]
    store = humidity_ratio(p.store, p.store_humidity, p.barometer)[:, None]
    inside = humidity_ratio(last.discharge_air, 0.9, barometer)
    moving = p.infiltration * p.case_air / AIR_HEAT
    return np.asarray(moving * np.maximum(store - inside, 0.0) * FREEZING_HEAT)
