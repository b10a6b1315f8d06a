"""The parameters of many plants as arrays: what is built, how it is set, and the weather.

One batch has one refrigerant. The first axis is the plant; the second, where there is one, the
suction group (g), compressor (k) or circuit (c). SI throughout: K, Pa absolute, W, kg, m3, s.
A fault is a changed value in one of these arrays, and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np

from expert.plant.fluid import Array

PSI = 6894.757293168
FOOT = 0.3048
GRAVITY = 9.80665
FANS, SPLIT, HOLD_BACK = 0.0, 1.0, 2.0  # head_control
NAMED = ("refrigerant", "marks")
NO_REGULATOR, MECHANICAL, ELECTRONIC = 0.0, 1.0, 2.0  # regulator


def fahrenheit(value: Array | float) -> Array:
    """Kelvin of a temperature in F."""
    return np.asarray((np.asarray(value, dtype=float) + 459.67) * 5 / 9)


def kelvins(value: Array | float) -> Array:
    """Kelvin of a temperature difference in F."""
    return np.asarray(np.asarray(value, dtype=float) * 5 / 9)


@dataclass
class Plants:
    """A batch of plants; (P,), (P, g), (P, k) or (P, c) as told at each group of names.

    `low_temperature` is 1 or 0; shares and factors have no unit; a `drop` is Pa at one kg/s of
    fluid of one kg/m3 (Pa kg/m3 / (kg/s)2), so that a loss is drop x flow2 / density.
    """

    refrigerant: str
    # the place (P,)
    barometer: Array
    outdoor: Array
    store: Array
    store_humidity: Array
    machine_room: Array
    low_temperature: Array
    # suction groups (P, g); a group that is not there has no circuits and no compressors
    set_point: Array
    suction_transducer_bias: Array
    suction_filter_drop: Array
    suction_valve_drop: Array
    suction_warming: Array  # W/K of the bare line between header and machines
    suction_ambient: Array
    # compressors (P, k)
    group_of_compressor: Array
    displacement: Array  # m3/s, zero where there is none
    available: Array
    clearance: Array
    fill: Array  # what heating and valves leave of the clearance efficiency
    best_isentropic: Array
    valve_leak: Array
    unloaded: Array
    service_valve_drop: Array
    discharge_limit: Array  # K that discharge cooling holds; where there is none, far above
    discharge_cooling: Array
    # gas that short-circuits: through the separator's float, share of the discharge gas (P,)
    float_leak: Array
    # condenser (P,)
    condenser_ua: Array
    condenser_air: Array  # W/K of all fans
    condenser_fans: Array
    fans_standing: Array
    fans_backwards: Array
    face_blocked: Array  # share of the air that dirt keeps off
    recirculation: Array
    part_in_use: Array  # share of the condenser that is valved in when all is called
    condenser_volume: Array
    condenser_liquid: Array  # share of it that cools liquid when nothing is backed up
    condenser_drop: Array
    discharge_drop: Array
    air_in_condenser: Array  # Pa of foreign gas at 300 K
    # head control (P,)
    head_control: Array
    floor: Array  # K dew, as displayed
    float_difference: Array  # K dew above displayed outdoor air that the fans hold
    split_below: Array  # K displayed outdoor; the half is off below it
    split_works: Array
    idle_half_filled: Array  # share of the idle half that keeps its liquid
    hold_back_setting: Array
    receiver_setting: Array
    hold_back_works: Array
    receiver_regulator_works: Array
    receiver_gas_leak: Array  # share of the discharge gas let into the receiver all the time
    fans_stuck_on: Array
    outdoor_sensor_bias: Array
    head_transducer_bias: Array
    reclaim: Array  # share of the heat that goes to the store
    reclaim_hold_up: Array  # kg left standing in the reclaim coil
    # liquid side (P,)
    drop_leg_drop: Array
    receiver_volume: Array
    charge: Array
    level_bias: Array
    king_valve_drop: Array
    drier_drop: Array
    liquid_line_drop: Array
    lift: Array
    line_volume: Array
    line_warming: Array  # W/K along the main line and the branches
    line_ambient: Array
    subcooler: Array  # 1 where fitted
    subcooler_leaving: Array
    subcooler_works: Array
    # circuits (P, c)
    group_of_circuit: Array
    present: Array
    case_set: Array  # K discharge air
    case_sensor_bias: Array
    case_ua: Array
    infiltration: Array  # share of all fans' air that is changed for store air
    internal: Array  # W of fans, lights, heaters, product
    case_air: Array  # W/K of all fans
    air_flow: Array  # share of it that still moves
    coil_ua: Array
    coil_clean: Array  # what frost and dirt leave of it
    coil_even: Array  # what a plugged distributor leaves
    superheating: Array  # how quickly the dry end warms the gas
    coil_volume: Array
    regulator: Array
    regulator_set: Array
    regulator_least: Array  # of its opening
    regulator_most: Array
    regulator_drop: Array
    branch_suction_drop: Array
    valve_area: Array  # m2 at full opening
    valve_electronic: Array
    valve_most: Array  # share of the area that can open
    valve_least: Array
    superheat_set: Array  # K that the valve holds
    superheat_bias: Array  # K by which its sensing is wrong; above zero it sees too much
    branch_liquid_drop: Array
    branch_lift: Array
    liquid_on: Array
    hot_gas_leak: Array  # kg/s of discharge gas into the circuit's suction
    bypass_leak: Array  # m2 of the check round the valve
    # design values as a store's papers have them (P,) and (P, c)
    design_condenser_difference: Array
    design_coil_difference: Array
    design_load: Array
    design_line_drop: Array
    # what can only be seen, 0 to 1: (P,), (P, k) or (P, c); it moves nothing by itself
    marks: dict[str, Array] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """How many plants."""
        return len(self.outdoor)

    @property
    def circuits(self) -> int:
        """The most circuits that any of them has."""
        return int(self.present.shape[1])

    def arrays(self) -> dict[str, Array]:
        """Every parameter by its name."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name not in NAMED}

    def copy(self) -> Plants:
        """The same with arrays of its own."""
        marks = {name: values.copy() for name, values in self.marks.items()}
        copied: dict[str, Any] = {name: values.copy() for name, values in self.arrays().items()}
        return replace(self, marks=marks, **copied)

    def take(self, which: Array) -> Plants:
        """The plants with these numbers (a row may be taken more than once)."""
        marks = {name: values[which] for name, values in self.marks.items()}
        taken: dict[str, Any] = {name: values[which] for name, values in self.arrays().items()}
        return replace(self, marks=marks, **taken)

    def mark(self, name: str, shape_of: str) -> Array:
        """A mark, zero everywhere where nothing made it; shaped as a parameter."""
        return np.asarray(self.marks.get(name, np.zeros_like(getattr(self, shape_of))))
