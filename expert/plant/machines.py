"""Compressors of each suction group, with what the pipe and the filter before them take."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from expert.plant.design import Plants
from expert.plant.fluid import Array, Fluid

GAS_EXPONENT = 1.08  # of re-expansion in the clearance (common practice)
BEST_RATIO = 3.5  # ratio of the best isentropic efficiency (common practice, 3 to 4)
FALL = 0.065  # of it with the square of the logarithm of the ratio (own choice)
BODY_LOSS = 0.1  # share of the power that the body gives to the room (own choice)
LEAK_WORK = 0.5  # share of the work still spent on gas that slips back (own choice)


@dataclass
class Machines:
    """The machines' state: (P, k), sums (P, g) and what leaves all of them (P,)."""

    suction: Array  # at each machine
    return_superheat: Array  # above dew at the machine
    return_temperature: Array
    ratio: Array
    full_flow: Array  # kg/s when it runs fully
    power: Array  # W while it runs
    expected_power: Array  # W of a machine in order at the same pressures
    discharge_temperature: Array
    group_full: Array  # (P, g) kg/s with all machines of the group on
    discharge_h: Array  # (P,) mean of what is pumped


def solve_machines(
    p: Plants, fluid: Fluid, header: Array, return_h: Array, group_flow: Array, discharge: Array
) -> Machines:
    """Machines at header pressures and gas enthalpies (P, g), `group_flow` now, discharge (P,)."""
    groups = p.group_of_compressor.astype(int)
    rho = fluid.gas_rho(header, np.full_like(header, 20.0))
    drop = (p.suction_filter_drop + p.suction_valve_drop) * group_flow**2 / rho
    inlet = np.maximum(header - drop, 0.3 * header)
    at = np.take_along_axis(inlet, groups, 1)
    gas_h = np.take_along_axis(return_h, groups, 1)
    end = discharge[:, None]
    suction = at
    flow = np.zeros_like(at)
    for _ in range(3):
        more = fluid.superheat_of_h(suction, gas_h)
        dry = np.maximum(more, 0.0)
        density = fluid.gas_rho(suction, dry)
        ratio = end / suction
        filled = 1.0 + p.clearance - p.clearance * ratio ** (1 / GAS_EXPONENT)
        sound = p.displacement * density * np.maximum(filled, 0.05) * p.fill
        flow = sound * p.available * (1.0 - p.unloaded) * (1.0 - p.valve_leak)
        loss = p.service_valve_drop * flow**2 / density
        suction = 0.5 * suction + 0.5 * np.maximum(at - loss, 0.25 * at)
    gas = fluid.gas_h(suction, dry)
    ideal = fluid.gas_h(np.broadcast_to(end, suction.shape), fluid.superheat_of_s(
        np.broadcast_to(end, suction.shape), fluid.gas_s(suction, dry)
    ))  # fmt: skip
    efficiency = p.best_isentropic * (1.0 - FALL * np.log(ratio / BEST_RATIO) ** 2)
    work = (ideal - gas) / efficiency
    slip = LEAK_WORK * p.valve_leak / np.maximum(1.0 - p.valve_leak, 0.1)
    idle = 0.12 * p.unloaded / np.maximum(1.0 - p.unloaded, 0.2)
    spent = work * (1.0 + slip + idle)
    left = gas_h + spent * (1.0 - BODY_LOSS)
    hot = fluid.superheat_of_h(np.broadcast_to(end, suction.shape), left)
    temperature = fluid.dew_t(end) + np.maximum(hot, 0.0)
    cooled = np.minimum(temperature, p.discharge_limit)
    temperature = np.where(p.discharge_cooling > 0, cooled, temperature)
    full = np.zeros_like(header)
    for g in range(header.shape[1]):
        full[:, g] = np.where(groups == g, flow, 0.0).sum(axis=1)
    weight = flow * np.take_along_axis(group_flow / np.maximum(full, 1e-9), groups, 1)
    mean = (weight * left).sum(axis=1) / np.maximum(weight.sum(axis=1), 1e-9)
    return Machines(
        suction=suction,
        return_superheat=more,
        return_temperature=fluid.dew_t(suction) + np.maximum(more, 0.0),
        ratio=ratio,
        full_flow=flow,
        power=flow * spent,
        expected_power=sound * work,
        discharge_temperature=temperature,
        group_full=full,
        discharge_h=mean,
    )
