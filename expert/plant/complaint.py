"""What a plant is called for: what somebody in the store, or an alarm, would notice of it.

Told of the plant as it is and not of readings, in the words with which a call begins. What stands
out most, in multiples of what is noticed at all, is what is complained of; where nothing stands out
nobody calls, and the plant is looked at on a routine visit.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from expert.plant.call import WARM
from expert.plant.design import PSI
from expert.plant.fluid import fluid
from expert.plant.read_rack import BUBBLES
from expert.plant.solve import SolvedPlants
from expert.plant.visit_instruments import NOTICED

F = 5 / 9
ROUTINE = ""
# What is noticed (common practice: where alarms of a rack are set, and what a case shows).
HEAD = 5 * F  # K of condensing away from what it is in this weather, or as it is shown
SUCTION = 2.0 * PSI  # away from the set point on paper
DISCHARGE = 25 * F  # K hotter than usual
LEVEL = 0.12  # of the receiver, a low level alarm
ICE_SHARE = 0.015  # of the frost, left after a defrost


def complaint(
    after: SolvedPlants, before: SolvedPlants, row: int, circuit: int, machine: int
) -> str:
    """What a plant that cools is called for; `ROUTINE` where nothing is noticed."""
    p = after.plants
    if p.available[row, machine] <= 0:
        return "compressor noisy or hot"
    found: Mapping[str, float] = {
        **_of_cases(after, before, row, circuit),
        **_of_rack(after, before, row, circuit, machine),
    }
    most = max(found, key=lambda name: found[name])
    return most if found[most] >= 1 else ROUTINE


def _of_cases(
    after: SolvedPlants, before: SolvedPlants, row: int, circuit: int
) -> dict[str, float]:
    p = after.plants
    here = p.present[row] > 0
    over = (after.circuits.discharge_air[row] - before.plants.case_set[row])[here]
    many = bool((over > WARM).sum() > 0.6 * here.sum())
    warm, cold = float(over.max()) / WARM, float(-over.min()) / WARM
    ice = p.marks.get("ice")
    iced = 0.0 if ice is None else float(ice[row, circuit])
    return {
        "all cases warm" if many else "case warm": warm,
        "case too cold": cold,
        "ice on the coil": 2 * iced / NOTICED,  # it is seen before the product is warm
    }


def _of_rack(
    after: SolvedPlants, before: SolvedPlants, row: int, circuit: int, machine: int
) -> dict[str, float]:
    p = after.plants
    group = int(p.group_of_circuit[row, circuit])
    f = fluid(p.refrigerant)
    usual_head = f.dew_t(before.discharge)[row]
    really, shown = (
        float(f.dew_t(pressure)[row] - usual_head) / HEAD
        for pressure in (after.discharge, after.discharge + p.head_transducer_bias)
    )
    head = max(really, shown, key=abs)
    off = after.header[row, group] - before.plants.set_point[row, group]
    suction = float(off) / SUCTION
    hotter = after.machines.discharge_temperature - before.machines.discharge_temperature
    gas = float(after.liquid.glass_quality[row]) / (2 * BUBBLES)
    level = float(np.clip(after.charge.level[row] + p.level_bias[row], 0.0, 1.0))
    usual = float(np.clip(before.charge.level[row], 0.0, 1.0))
    low = 1.0 if level < LEVEL < usual else 0.0
    return {
        "head high": head,
        "head low": -head,
        "suction high": suction,
        "suction low": -suction,
        "bubbles in the liquid": max(gas if usual > LEVEL or gas > 1 else 0.0, low),
        "compressor noisy or hot": float(hotter[row, machine]) / DISCHARGE,
    }


def complaint_of_defrost(left: float, by_clock: bool, pan_frozen: float) -> str:
    """What a defrost is called for: by the share of its frost that is left, by the clock having
    ended it, by how much of the pan is frozen (0 to 1)."""
    if left > ICE_SHARE or by_clock:
        return "defrost does not clear"
    return "ice on the coil" if pan_frozen > NOTICED else ROUTINE
