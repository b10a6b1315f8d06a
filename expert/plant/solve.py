"""The steady state of many plants at once, by relaxation of all unknowns together.

A state is told as solved where energy, mass and flows close; what does not close is not a state.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from expert.plant.circuits import Circuits, Liquid, solve_circuits
from expert.plant.condensing import (
    COOLING_OF_LIQUID,
    HighSide,
    held_in_condenser,
    solve_high_side,
)
from expert.plant.design import Plants
from expert.plant.fluid import Array, Fluid, fluid
from expert.plant.liquid import FULL, ChargeHeld, LiquidSide, gas_share, share_charge, solve_liquid
from expert.plant.machines import Machines, solve_machines

ROUNDS = 220
FEWEST = 60  # rounds before it is looked whether all is closed
FEWEST_NEAR = 20  # the same from a state that lies near
CLOSED_ENOUGH = 5e-4
CAREFUL = 0.12  # gas in the liquid line empties it quickly: steps that swing are halved
SOLVED = 0.01  # largest share by which a balance may miss
SUCTION_GAS_HEAT = 800.0  # J/(kg K)
NEARLY_ALL = 0.985  # share of the capacity from which every machine stays on


@dataclass
class SolvedPlants:
    """Everything that is known of solved plants. `running` is the share of capacity (P, g)."""

    plants: Plants
    header: Array  # suction headers (P, g)
    header_temperature: Array
    running: Array
    discharge: Array  # discharge header (P,)
    heat: Array  # W rejected
    machines: Machines
    high: HighSide
    liquid: LiquidSide
    circuits: Circuits
    charge: ChargeHeld
    backed: Array  # share of the condenser that liquid backs up into (P,)
    misses: dict[str, Array]

    @property
    def solved(self) -> Array:
        """Which plants closed every balance (P,)."""
        return self.closed(SOLVED)

    def closed(self, share: float) -> Array:
        """Which plants miss every balance by less than a share (P,)."""
        worst = np.max([np.abs(each) for each in self.misses.values()], axis=0)
        return np.asarray(np.isfinite(worst) & (worst < share))


def _start(p: Plants, f: Fluid) -> tuple[Circuits, Liquid]:
    dew = p.case_set - 5.0
    ones = np.ones_like(p.case_set)
    pressure = f.dew_p(dew)
    h = np.broadcast_to(f.liquid_h(p.outdoor + 8.0)[:, None], ones.shape)
    liquid = Liquid(np.maximum(f.bubble_p(p.outdoor + 8.0), 8e5)[:, None] * ones, h,
                    (p.outdoor + 8.0)[:, None] * ones, 0 * ones)  # fmt: skip
    heat = p.case_air * p.air_flow * 4.0
    flow = p.present * heat / 1.4e5
    zero = 0 * ones
    return Circuits(
        coil_pressure=pressure, after_coil=pressure, wet=0.85 * ones, opening=0.5 * ones,
        superheat=4 * ones, outlet_h=f.gas_h(pressure, 4 * ones), outlet_quality=ones,
        return_air=p.case_set + 4.0, discharge_air=p.case_set + zero, heat=heat, latent=zero,
        running=ones, flow_on=flow, flow=flow, regulator_opening=ones,
    ), liquid  # fmt: skip


def _by_group(p: Plants, values: Array) -> Array:
    groups = p.group_of_circuit.astype(int)
    count = p.set_point.shape[1]
    return np.stack(
        [np.where((groups == g) & (p.present > 0), values, 0.0).sum(axis=1) for g in range(count)],
        axis=1,
    )


def solve(p: Plants, rounds: int = ROUNDS, near: SolvedPlants | None = None) -> SolvedPlants:
    """The steady state of every plant; which of them closed stands in `solved`.

    `near` is a state of nearly the same plants to begin with, which takes fewer rounds.
    """
    f = fluid(p.refrigerant)
    groups = p.group_of_circuit.astype(int)
    circuits, valves = _start(p, f)
    header = p.set_point.copy()
    discharge = f.dew_p(np.maximum(p.outdoor + 8.0, p.floor))
    hot_h = f.gas_h(discharge, np.full_like(discharge, 40.0))
    flow = np.maximum(circuits.flow.sum(axis=1), 1e-3)
    heat = flow * 2.0e5
    short, last_pull = np.zeros_like(flow), np.zeros_like(flow)
    step = np.full_like(flow, CAREFUL)
    backed = np.zeros_like(flow)
    to_flood = np.zeros_like(flow)
    fewest = FEWEST
    if near is not None:
        circuits, valves, header = near.circuits, near.liquid.valves, near.header.copy()
        discharge, hot_h = near.discharge.copy(), near.machines.discharge_h.copy()
        flow = near.circuits.flow.sum(axis=1)
        heat, short, backed = near.heat.copy(), near.charge.short.copy(), near.backed.copy()
        fewest = FEWEST_NEAR
    state: SolvedPlants | None = None
    gain = 0.5
    for turn in range(rounds):
        if turn > rounds // 2:
            gain = 0.3
        at = np.take_along_axis(header, groups, 1)
        circuits = solve_circuits(p, f, at, valves, circuits)
        leak_h = np.broadcast_to(hot_h[:, None], circuits.flow.shape)
        total = _by_group(p, circuits.flow + p.hot_gas_leak)
        carried = _by_group(p, circuits.flow * circuits.outlet_h + p.hot_gas_leak * leak_h)
        kept = np.clip(1.0 - p.float_leak, 0.3, 1.0)
        pumped = total / kept[:, None]
        mixed = (carried + (pumped - total) * hot_h[:, None]) / np.maximum(pumped, 1e-9)
        superheat = f.superheat_of_h(header, mixed)
        gas_t = f.dew_t(header) + np.maximum(superheat, 0.0)
        reach = 1.0 - np.exp(-p.suction_warming / np.maximum(pumped * SUCTION_GAS_HEAT, 1e-3))
        return_h = mixed + SUCTION_GAS_HEAT * reach * np.maximum(p.suction_ambient - gas_t, 0.0)
        machines = solve_machines(p, f, header, return_h, pumped, discharge)
        held = p.set_point - p.suction_transducer_bias
        need = pumped / np.maximum(machines.group_full, 1e-9)
        moved = header * np.clip(need, 0.25, 4.0) ** (gain if turn < rounds // 2 else 0.6 * gain)
        idle = machines.group_full < 1e-9
        target = np.where(need * header > held * 1.0, np.maximum(moved, held), held)
        last_header = header
        header = np.where(idle & (pumped < 1e-6), held, header + gain * 1.6 * (target - header))
        header = np.clip(header, 0.4 * held, np.minimum(6 * held, 0.85 * discharge[:, None]))
        flow_now = total.sum(axis=1) - p.hot_gas_leak.sum(axis=1)
        flow = flow + gain * (np.maximum(flow_now, 1e-4) - flow)
        hot_h = hot_h + gain * (machines.discharge_h - hot_h)
        gas = gas_share(short)
        high = solve_high_side(p, f, heat, flow, np.clip(backed, 0, 0.92), to_flood, gas)
        out_h = f.liquid_h(high.leaving) * (1 - gas)
        out_h = out_h + gas * f.gas_h(high.saturated, np.zeros_like(gas))
        rejected = flow * (hot_h - out_h)
        heat = heat + gain * (np.maximum(rejected, 1.0) - heat)
        rho = f.gas_rho(high.inlet, np.full_like(discharge, 30.0))
        new_discharge = high.inlet + p.discharge_drop * flow**2 / rho
        discharge = discharge + gain * (new_discharge - discharge)
        side = solve_liquid(p, f, high, circuits, short, hot_h)
        valves = _toward(valves, side.valves, gain)
        charge = share_charge(p, f, high, side, circuits, held_in_condenser(p, f, high))
        pull = charge.short - short
        step = np.where(pull * last_pull < 0, 0.5 * step, np.minimum(1.08 * step, CAREFUL))
        short, last_pull = np.clip(short + step * pull, 0.0, 1.0), pull
        room = (charge.level - FULL) * p.receiver_volume / p.condenser_volume
        backed_by_charge = np.clip(
            high.flooded + np.where(high.flooded > 1e-4, room, np.maximum(room, 0)), 0, 0.92
        )
        by_restriction = _held_back(p, f, high, flow)
        backed = backed + 0.5 * gain * (np.maximum(backed_by_charge, by_restriction) - backed)
        to_flood = np.maximum(
            to_flood + gain * (high.flooded - backed + charge.spare - to_flood), 0
        )
        last_discharge = new_discharge
        if (turn >= fewest and turn % 10 == 0) or turn == rounds - 1:
            state = SolvedPlants(
                plants=p, header=header, header_temperature=gas_t,
                running=np.clip(need * last_header / np.maximum(header, 1.0), 0.0, 1.0),
                discharge=discharge, heat=heat, machines=machines, high=high, liquid=side,
                circuits=circuits, charge=charge, backed=backed,
                misses={
                    "energy": rejected / heat - 1.0,
                    "flow": flow_now / flow - 1.0,
                    "suction": np.max(np.abs(header / last_header - 1.0), axis=1),
                    "discharge": last_discharge / discharge - 1.0,
                    "charge": charge.short - short,
                    "liquid": np.max(np.abs(side.valves.pressure / valves.pressure - 1), axis=1),
                },
            )  # fmt: skip
            if np.all(state.closed(CLOSED_ENOUGH)):
                break
    assert state is not None
    return state


def _toward(old: Liquid, new: Liquid, gain: float) -> Liquid:
    return Liquid(
        old.pressure + gain * (new.pressure - old.pressure),
        old.enthalpy + gain * (new.enthalpy - old.enthalpy),
        old.temperature + gain * (new.temperature - old.temperature),
        old.quality + gain * (new.quality - old.quality),
    )


def _held_back(p: Plants, f: Fluid, high: HighSide, flow: Array) -> Array:
    """Share of the condenser that backs up until the liquid is cool enough to pass the drop leg."""
    loss = p.drop_leg_drop * flow**2 / f.liquid_rho(high.leaving)
    boil = f.bubble_t(high.outlet)
    needed = boil - f.bubble_t(np.maximum(high.outlet - loss, 2e5))
    share = np.clip(needed / np.maximum(boil - high.air_in, 0.5), 0.0, 0.98)
    filled = -np.log(1.0 - share) / COOLING_OF_LIQUID - p.condenser_liquid
    return np.asarray(np.clip(filled, 0.0, 0.9))
