"""Receiver with the whole charge, and the liquid on its way from there to every valve."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from expert.plant.circuits import Circuits, Liquid
from expert.plant.condensing import HighSide
from expert.plant.design import GRAVITY, HOLD_BACK, Plants
from expert.plant.fluid import Array, Fluid

LIQUID_HEAT = 1450.0  # J/(kg K), for heat picked up along the line only
OUTLET_COVERED = 0.04  # share of the receiver below which its outlet draws gas
DEFICIT = 0.25  # share by which it can be short until nearly all is gas
MOST_GAS = 0.4
FULL = 0.97
WARMED_BY_GAS = 0.12  # of the way to saturation, on the surface of the receiver
COIL_LIQUID = 0.2  # liquid in the wetted part of a coil, share of its volume (common practice)


@dataclass
class LiquidSide:
    """The liquid's state: (P,), and before each valve (P, c)."""

    receiver: Array  # Pa
    receiver_temperature: Array
    outlet_temperature: Array
    drier_in: Array
    drier_out: Array
    drier_in_temperature: Array
    drier_out_temperature: Array
    glass_quality: Array
    subcooler_in_temperature: Array
    header: Array
    header_temperature: Array
    header_quality: Array
    valves: Liquid
    outlet_gas: Array  # share of the mass that leaves the receiver as gas


def solve_liquid(
    p: Plants, fluid: Fluid, high: HighSide, circuits: Circuits, short: Array, hot_h: Array
) -> LiquidSide:
    """From the condenser to the valves; `short` is the deficit of the receiver, 0 to 1."""
    flow = circuits.flow.sum(axis=1)
    rho = fluid.liquid_rho(high.leaving)
    receiver = high.outlet - p.drop_leg_drop * flow**2 / rho
    flooding = (p.head_control == HOLD_BACK) & (high.flooded > 0.02)
    own = fluid.bubble_p(high.leaving + 2.0)  # of liquid that no gas presses on
    fed = np.where(p.receiver_regulator_works > 0.5, np.minimum(p.receiver_setting, receiver), own)
    receiver = np.where(flooding, np.minimum(receiver, np.maximum(fed, own)), receiver)
    receiver = np.maximum(receiver, 2e5)
    boil = fluid.bubble_t(receiver)
    feeds = flooding & (p.receiver_regulator_works > 0.5) & (own < p.receiver_setting)
    warmed = WARMED_BY_GAS + np.where(feeds, 0.15, 0.0)
    t = high.leaving + warmed * np.maximum(boil - high.leaving, 0.0)
    h = fluid.liquid_h(np.minimum(t, boil))
    h = h + p.receiver_gas_leak * (hot_h - h)
    gas = gas_share(short)
    full_gas = fluid.vapour_h(receiver)
    # What boils off in a receiver that holds liquid stays above it: only its temperature leaves.
    h = np.minimum(h, fluid.liquid_h(boil)) * (1.0 - gas) + full_gas * gas
    outlet_t = _temperature(fluid, receiver, h)
    drier_in = _through(fluid, receiver, h, p.king_valve_drop, flow)
    in_t = _temperature(fluid, drier_in, h)
    drier_out = _through(fluid, drier_in, h, p.drier_drop, flow)
    out_t = _temperature(fluid, drier_out, h)
    glass = fluid.quality(drier_out, h)
    cooled_t = np.where(
        (p.subcooler > 0) & (out_t > p.subcooler_leaving),
        out_t + p.subcooler_works * (p.subcooler_leaving - out_t),
        out_t,
    )
    drawn = h - fluid.liquid_h(out_t)  # what is gas at the glass is condensed before it is cooled
    h = fluid.liquid_h(cooled_t) + np.where(
        cooled_t < out_t - 0.5, np.maximum(drawn, 0) * 0.3, drawn
    )
    header = _through(fluid, drier_out, h, p.liquid_line_drop, flow)
    header_t = _temperature(fluid, header, h)
    return LiquidSide(
        receiver=receiver,
        receiver_temperature=t,
        outlet_temperature=outlet_t,
        drier_in=drier_in,
        drier_out=drier_out,
        drier_in_temperature=in_t,
        drier_out_temperature=out_t,
        glass_quality=glass,
        subcooler_in_temperature=out_t,
        header=header,
        header_temperature=header_t,
        header_quality=fluid.quality(header, h),
        valves=_branches(p, fluid, header, h, header_t, circuits),
        outlet_gas=gas,
    )


def _branches(
    p: Plants, fluid: Fluid, header: Array, h: Array, t: Array, circuits: Circuits
) -> Liquid:
    shape = circuits.flow.shape
    start, before = np.broadcast_to(header[:, None], shape), np.broadcast_to(h[:, None], shape)
    flow = np.maximum(circuits.flow_on, 1e-5)
    total = np.maximum(circuits.flow.sum(axis=1), 1e-4)[:, None]
    share = p.line_warming[:, None] / total / LIQUID_HEAT
    reach = 1.0 - np.exp(-share)
    after = before + LIQUID_HEAT * reach * (p.line_ambient - t)[:, None]
    warm = fluid.liquid_rho(t)[:, None]
    rise = p.lift[:, None] + p.branch_lift
    low = np.maximum(start - rise * GRAVITY * warm, 0.3 * start)
    end = _through(fluid, low, after, p.branch_liquid_drop, flow)
    return Liquid(end, after, _temperature(fluid, end, after), fluid.quality(end, after))


def _through(fluid: Fluid, start: Array, h: Array, drop: Array, flow: Array) -> Array:
    """Pressure behind a resistance; gas in the stream makes it lose more."""
    x = fluid.quality(start, h)
    rho = fluid.mixed_rho(start, _temperature(fluid, start, h), x)
    return np.asarray(np.maximum(start - drop * flow**2 / rho, 0.3 * start))


def _temperature(fluid: Fluid, p: Array, h: Array) -> Array:
    """Temperature of liquid of an enthalpy, at most its bubble temperature."""
    boil = fluid.bubble_t(p)
    t = boil
    near = np.array((0.5, 0.0, -0.5)).reshape(3, *(1 for _ in t.shape))
    for _ in range(3):
        warmer, here, colder = fluid.liquid_h(t + near)
        t = t - (here - h) / (warmer - colder)
        t = np.minimum(np.maximum(t, 225.0), boil)
    return t


def gas_share(short: Array) -> Array:
    """Share of the mass that leaves a short receiver as gas."""
    return np.asarray(np.clip(short, 0.0, 1.0) * MOST_GAS)


@dataclass
class ChargeHeld:
    """Where the refrigerant stands [kg], and the receiver (P,)."""

    lines: Array
    coils: Array
    condenser: Array
    receiver: Array
    level: Array  # share of the receiver's volume, below zero where it is short
    short: Array
    backed_up: Array  # share of the condenser filled by what the receiver cannot hold
    spare: Array  # share of the condenser that the receiver's liquid could fill


def share_charge(
    p: Plants, fluid: Fluid, high: HighSide, side: LiquidSide, circuits: Circuits, held: Array
) -> ChargeHeld:
    """The whole charge less what stands elsewhere is in the receiver; `held` in the condenser."""
    line = p.line_volume * fluid.mixed_rho(
        side.header, side.header_temperature, side.header_quality
    )
    evaporating = fluid.bubble_t(circuits.coil_pressure)
    wet = COIL_LIQUID * circuits.wet * p.liquid_on * (2.0 - circuits.outlet_quality)
    coils = (p.present * p.coil_volume * wet * fluid.liquid_rho(evaporating)).sum(axis=1)
    rest = p.charge - line - coils - held - p.reclaim_hold_up
    rho = fluid.liquid_rho(side.receiver_temperature)
    gas = fluid.vapour_rho(side.receiver)
    level = (rest - p.receiver_volume * gas) / (p.receiver_volume * (rho - gas))
    surplus = np.maximum(level - FULL, 0.0) * p.receiver_volume
    spare = np.maximum(level - OUTLET_COVERED, 0.0) * p.receiver_volume / p.condenser_volume
    return ChargeHeld(
        lines=line,
        coils=coils,
        condenser=held,
        receiver=rest,
        level=level,
        short=np.clip((OUTLET_COVERED - level) / DEFICIT, 0.0, 1.0),
        backed_up=np.clip(surplus / p.condenser_volume, 0.0, 0.9),
        spare=spare,
    )
