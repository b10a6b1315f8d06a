"""Condenser with its air and its head control, and what stands in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from expert.plant.design import HOLD_BACK, SPLIT, Plants
from expert.plant.fluid import Array, Fluid
from expert.plant.roots import falling_in

NATURAL_AIR = 0.05  # of all fans, with the fans off (own choice)
NATURAL_AIR_LARGE = 0.12  # of a condenser that is meant to be split
AIR_EXPONENT = 0.45  # of the conductance with the air (common practice, 0.4 to 0.6)
COOLING_OF_LIQUID = 12.0  # transfer units of the whole coil as a liquid cooler (own choice)
GAS_TAKES = 25.0  # so quickly does gas at the outlet take the subcooling (own choice)
FILM = 0.06  # liquid on the walls of the condensing part, share of its volume (common practice)
MOST_FLOODED = 0.975  # a hold-back valve throttles until what is left holds the pressure


@dataclass
class HighSide:
    """The condenser's state (P,). Pressures include the foreign gas."""

    saturated: Array  # of the refrigerant alone, at the mean
    inlet: Array
    outlet: Array
    air_in: Array
    air_out: Array
    fan_share: Array  # of the fans in order, what the control runs
    flooded: Array
    part: Array  # of the condenser that is valved in
    leaving: Array  # temperature of the liquid
    split: Array


def air_share(p: Plants) -> tuple[Array, Array]:
    """Share of the air that moves with all fans called, and what of it is breathed again."""
    standing = p.fans_standing / p.condenser_fans
    wrong = p.fans_backwards / p.condenser_fans
    moved = 1.0 - 1.1 * standing - 1.15 * wrong
    again = p.recirculation + 0.12 * standing + 0.25 * wrong
    return np.maximum(moved, 0.05) * (1.0 - p.face_blocked), np.minimum(again, 0.8)


def solve_high_side(
    p: Plants,
    fluid: Fluid,
    heat: Array,
    flow: Array,
    backed_up: Array,
    to_flood: Array,
    gas: Array,
) -> HighSide:
    """Condensing for a heat [W] and flow [kg/s] (P,).

    `backed_up` is the share of the condenser that liquid takes from below; `to_flood` the share
    that the hold-back valve could fill with the liquid there is. `gas` leaves uncondensed where the
    receiver is short, and then nothing is left to be cooled below boiling.
    """
    heat = heat * (1.0 - p.reclaim)
    shown = p.outdoor + p.outdoor_sensor_bias
    split = (p.head_control == SPLIT) & (shown < p.split_below) & (p.split_works > 0)
    part = p.part_in_use * np.where(split, 0.5, 1.0)
    moved, again = air_share(p)

    def pressure(fans: Array, flooded: Array) -> Array:
        air, effect, entering = _air(p, moved * fans, again, part, flooded, heat)
        return fluid.mid_p(np.minimum(entering + heat / (effect * air), 345.0)) + p.air_in_condenser

    large = (p.head_control == SPLIT) & ~split
    natural = np.where(large, NATURAL_AIR_LARGE, NATURAL_AIR)
    least = np.maximum(natural, p.fans_stuck_on)
    target = np.maximum(p.floor, shown + p.float_difference)
    held = fluid.dew_p(target) - p.head_transducer_bias
    by_fans = p.head_control != HOLD_BACK
    all_on = np.ones_like(least)
    free = pressure(all_on, backed_up)
    fans = all_on
    if np.any(by_fans & (free < held)):
        fans = falling_in(lambda share: held - pressure(share, backed_up), least, all_on, steps=9)
        fans = np.where(by_fans & (free < held), fans, 1.0)
    wanted = p.hold_back_setting * p.hold_back_works
    sought = backed_up
    if np.any(~by_fans & (free < wanted)):
        most = np.full_like(fans, MOST_FLOODED)
        sought = falling_in(lambda full: pressure(fans, full) - wanted, backed_up, most, steps=12)
    fill = np.minimum(
        np.where(free < wanted, sought, backed_up), backed_up + np.maximum(to_flood, 0.0)
    )
    flooded = np.where(by_fans, backed_up, fill)
    total = pressure(fans, flooded)
    air, _, entering = _air(p, moved * fans, again, part, flooded, heat)
    alone = np.maximum(total - p.air_in_condenser, 1e4)
    loss = p.condenser_drop * flow**2 / fluid.vapour_rho(alone) / part**2
    reach = 1.0 - np.exp(-COOLING_OF_LIQUID * (p.condenser_liquid + flooded))
    reach = reach * np.clip(1.0 - GAS_TAKES * gas, 0.0, 1.0)
    boil = fluid.bubble_t(alone - loss / 2)
    return HighSide(
        saturated=alone,
        inlet=total + loss / 2,
        outlet=total - loss / 2,
        air_in=entering,
        air_out=entering + heat / air,
        fan_share=fans,
        flooded=flooded,
        part=part,
        leaving=boil - np.maximum(boil - entering, 0.0) * reach,
        split=split.astype(float),
    )


def _air(
    p: Plants, moved: Array, again: Array, part: Array, flooded: Array, heat: Array
) -> tuple[Array, Array, Array]:
    """Air [W/K] over the part in use, effectiveness, and entering air."""
    air = p.condenser_air * moved * part
    foreign = np.clip(1.2 * p.air_in_condenser / 1.5e6, 0.0, 0.3)
    surface = part * np.maximum(1.0 - flooded, 0.02) * (1.0 - foreign)
    ua = p.condenser_ua * surface * moved**AIR_EXPONENT
    effect = 1.0 - np.exp(-ua / air)
    return air, effect, p.outdoor + again / (1.0 - again) * heat / air


def held_in_condenser(p: Plants, fluid: Fluid, high: HighSide) -> Array:
    """Refrigerant in the condenser [kg], an idle half included."""
    rho = fluid.liquid_rho(np.minimum(high.leaving, 330.0))
    wet = np.minimum(high.flooded + p.condenser_liquid + FILM, 1.0)
    gas = fluid.vapour_rho(high.saturated)
    used = p.condenser_volume * high.part * (wet * rho + (1.0 - wet) * gas)
    idle = p.condenser_volume * np.maximum(1.0 - high.part, 0.0)
    return np.asarray(used + idle * (p.idle_half_filled * rho + (1 - p.idle_half_filled) * 5.0))
