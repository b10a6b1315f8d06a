"""Healthy plants drawn at random from a seed: designs, sizes, settings, weather and load.

Ranges are common practice for stores of this kind unless a line says otherwise; sizes follow from
the loads by the same equations the plant is solved with, so that a drawn plant fits together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.random import Generator

from expert.plant.circuits import GLIDE_SHARE
from expert.plant.design import (
    ELECTRONIC,
    FANS,
    FOOT,
    GRAVITY,
    HOLD_BACK,
    MECHANICAL,
    NO_REGULATOR,
    PSI,
    SPLIT,
    Plants,
    fahrenheit,
    kelvins,
)
from expert.plant.fluid import Array, fluid
from expert.plant.machines import BEST_RATIO, FALL, GAS_EXPONENT

CIRCUITS, COMPRESSORS, GROUPS = 8, 4, 2


@dataclass(frozen=True)
class CaseKind:
    """A kind of case: air and coil in F, shares of the sensible load, W of one circuit."""

    name: str
    discharge: tuple[float, float]
    above_coil: tuple[float, float]
    air_drop: tuple[float, float]
    shares: tuple[float, float, float]  # air let in, walls, inside
    heat: tuple[float, float]


LOW = (
    CaseKind("frozen food doors", (-9, -3), (7, 10), (4, 7), (0.2, 0.3, 0.5), (3e3, 8e3)),
    CaseKind("ice cream doors", (-16, -12), (7, 9), (4, 6), (0.2, 0.3, 0.5), (3e3, 7e3)),
    CaseKind("frozen food open", (-14, -10), (7, 9), (7, 12), (0.5, 0.25, 0.25), (3e3, 7e3)),
    CaseKind("walk-in freezer", (-14, -7), (7, 10), (5, 8), (0.25, 0.4, 0.35), (3e3, 9e3)),
)
MEDIUM = (
    CaseKind("dairy", (30, 34), (7, 10), (8, 12), (0.62, 0.2, 0.18), (6e3, 16e3)),
    CaseKind("fresh meat", (25, 28), (7, 9), (8, 12), (0.6, 0.2, 0.2), (5e3, 12e3)),
    CaseKind("produce", (34, 38), (8, 11), (8, 12), (0.6, 0.2, 0.2), (5e3, 12e3)),
    CaseKind("deli", (29, 33), (7, 10), (8, 12), (0.6, 0.2, 0.2), (4e3, 9e3)),
    CaseKind("walk-in cooler", (30, 35), (8, 11), (5, 8), (0.3, 0.35, 0.35), (4e3, 12e3)),
)
KINDS = (*LOW, *MEDIUM)
STORE_DESIGN = fahrenheit(75.0)


@dataclass
class Drawn:
    """A batch with what a technician knows of each plant beside its numbers."""

    plants: Plants
    kinds: Array  # (P, c) index into KINDS, -1 where there is none
    weather: tuple[str, ...]


def draw(seed: int, count: int, refrigerant: str, *, low_temperature: bool, weather: str) -> Drawn:
    """So many healthy plants; `weather` is 'hot', 'mild' or 'cold'."""
    return _PlantsInOrder(np.random.default_rng(seed), count, refrigerant, low_temperature).drawn(
        weather
    )


class _PlantsInOrder:
    """Draws one batch step by step: cases, coils, machines, condenser, liquid."""

    def __init__(self, rng: Generator, count: int, refrigerant: str, low: bool) -> None:
        self.rng, self.n, self.low = rng, count, low
        self.fluid = fluid(refrigerant)
        self.values: dict[str, Any] = {}
        self.refrigerant = refrigerant

    def uniform(self, low: Array | float, high: Array | float, *more: int) -> Array:
        return self.rng.uniform(low, high, (self.n, *more))

    def drawn(self, weather: str) -> Drawn:
        self._place(weather)
        kinds = self._cases()
        self._coils()
        self._machines()
        self._condenser()
        self._liquid_side()
        plants = Plants(self.refrigerant, **self.values)
        return Drawn(plants, kinds, (weather,) * self.n)

    def _place(self, weather: str) -> None:
        v, u = self.values, self.uniform
        height = np.where(self.rng.random(self.n) < 0.7, u(0, 300), u(300, 1700))
        v["barometer"] = 101325.0 * (1 - 2.25577e-5 * height) ** 5.25588
        spans = {"hot": (80, 100), "mild": (55, 80), "cold": (5, 45)}
        v["outdoor"] = fahrenheit(u(*spans[weather]))
        v["store"] = fahrenheit(u(68, 76))
        v["store_humidity"] = u(0.32, 0.54)
        v["machine_room"] = fahrenheit(u(70, 90))
        v["low_temperature"] = np.full(self.n, float(self.low))

    def _cases(self) -> Array:
        v, n, c = self.values, self.n, CIRCUITS
        pool = LOW if self.low else MEDIUM
        first = 0 if self.low else len(LOW)
        count = self.rng.integers(4, c + 1, n)
        present = np.arange(c)[None, :] < count[:, None]
        kinds = self.rng.integers(0, len(pool), (n, c)) + first
        two = self.rng.random(n) < 0.25
        split = count // 2
        group = two[:, None] & (np.arange(c)[None, :] >= split[:, None]) & present

        def pick(what: str, part: int) -> Array:
            return np.array([getattr(kind, what)[part] for kind in KINDS])[kinds]

        def span(what: str) -> Array:
            least = pick(what, 0)
            return np.asarray(least + self.rng.random((n, c)) * (pick(what, 1) - least))

        v["present"] = present.astype(float)
        v["group_of_circuit"] = group.astype(float)
        v["case_set"] = fahrenheit(np.round(span("discharge")))
        self.above = kelvins(span("above_coil"))
        drop = kelvins(span("air_drop"))
        heat = span("heat")
        v["case_air"] = heat / drop
        ret = v["case_set"] + drop
        v["infiltration"] = pick("shares", 0) * heat / v["case_air"] / (STORE_DESIGN - ret)
        v["case_ua"] = pick("shares", 1) * heat / (STORE_DESIGN - v["case_set"] - drop / 2)
        v["internal"] = pick("shares", 2) * heat * self.uniform(0.75, 1.1)[:, None]
        self.sensible, self.air_drop, self.return_design = heat, drop, ret
        v["air_flow"] = np.ones((n, c))
        for name in ("coil_clean", "coil_even", "liquid_on"):
            v[name] = np.ones((n, c))
        for name in ("case_sensor_bias", "superheat_bias", "hot_gas_leak", "bypass_leak"):
            v[name] = np.zeros((n, c))
        return np.where(present, kinds, -1)

    def _coils(self) -> None:
        v, f, n, c = self.values, self.fluid, self.n, CIRCUITS
        self.dew = v["case_set"] - self.above
        self.coil_p = f.dew_p(self.dew)
        boiling = self.dew - GLIDE_SHARE * (self.dew - f.bubble_t(self.coil_p))
        v["superheating"] = self.uniform(5, 7, c)
        superheat = kelvins(self.uniform(5.5, 8, c) if self.low else self.uniform(6, 10, c))
        v["superheat_set"] = superheat
        reach = np.minimum(superheat / (self.return_design - self.dew), 0.95)
        wet = 1 + np.log(1 - reach) / v["superheating"]
        effect = np.minimum(self.air_drop / (self.return_design - boiling), 0.93)
        v["coil_ua"] = -np.log(1 - effect) / wet * v["case_air"]
        outside = v["infiltration"] * v["case_air"] / 1006.0
        self.load = v["present"] * (self.sensible + outside * 0.006 * 2.83e6)
        v["coil_volume"] = self.load * 0.8e-6
        kind = self.rng.random((n, c))
        v["regulator"] = np.where(kind < 0.4, MECHANICAL, ELECTRONIC)
        group = v["group_of_circuit"].astype(int)
        v["set_point"] = np.full((n, GROUPS), 0.0)
        self.line_drop = PSI * (
            self.uniform(0.3, 0.9, c) if self.low else self.uniform(0.6, 1.8, c)
        )
        open_drop = PSI * (self.uniform(0.2, 0.5, c) if self.low else self.uniform(0.4, 1.0, c))
        below = self.coil_p - self.line_drop - open_drop
        for g in range(GROUPS):
            own = (group == g) & (v["present"] > 0)
            lowest = np.where(own, below, np.inf).min(axis=1)
            lowest = np.where(np.isfinite(lowest), lowest, below[:, 0])
            first = own & (below == lowest[:, None])
            v["regulator"] = np.where(first & (kind < 0.75), NO_REGULATOR, v["regulator"])
            margin = PSI * self.uniform(0.2, 0.8)
            gauge = np.round((lowest - margin - v["barometer"]) / PSI * 2 - 0.5) / 2 * PSI
            v["set_point"][:, g] = gauge + v["barometer"]
        self.header = np.take_along_axis(v["set_point"], group, 1)
        # a coil on its thermostat lies on the header
        none = v["regulator"] == NO_REGULATOR
        v["regulator_set"] = np.where(none, 0.0, self.coil_p - self.line_drop)
        v["regulator_least"] = np.full((n, c), 1e-3)
        v["regulator_most"] = np.ones((n, c))
        condensing = fahrenheit(np.full(n, 105.0 if not self.low else 100.0))
        h = f.liquid_h(condensing - 3)[:, None]
        self.flow = self.load / (f.gas_h(self.coil_p, superheat) - h)
        rho = f.gas_rho(self.coil_p, superheat)
        safe = np.maximum(self.flow, 1e-5)
        v["branch_suction_drop"] = self.line_drop * rho / safe**2
        v["regulator_drop"] = open_drop * rho / safe**2
        electronic = self.rng.random(n) < 0.5
        v["valve_electronic"] = np.repeat(electronic[:, None], c, 1).astype(float)

    def _machines(self) -> None:
        v, f, n, k = self.values, self.fluid, self.n, COMPRESSORS
        group = v["group_of_circuit"].astype(int)
        two = (group * v["present"]).max(axis=1) > 0
        owner = np.where(two[:, None], np.array([0, 0, 1, 1])[None, :], 0)
        v["group_of_compressor"] = owner.astype(float)
        v["clearance"] = self.uniform(0.035, 0.055)[:, None] * np.ones((n, k))
        v["fill"] = self.uniform(0.88, 0.95)[:, None] * np.ones((n, k))
        v["best_isentropic"] = self.uniform(0.64, 0.71)[:, None] * np.ones((n, k))
        total = np.stack([np.where(group == g, self.flow, 0).sum(axis=1) for g in range(GROUPS)], 1)
        self.total = total.sum(axis=1)
        warm = kelvins(self.uniform(24, 38) if self.low else self.uniform(14, 28))[:, None]
        gas_t = f.dew_t(v["set_point"]) + kelvins(9.0)
        v["suction_ambient"] = np.repeat(fahrenheit(self.uniform(70, 82))[:, None], GROUPS, 1)
        reach = np.clip(warm / np.maximum(v["suction_ambient"] - gas_t, 1.0), 0.05, 0.85)
        v["suction_warming"] = -np.log(1 - reach) * total * 800.0
        self.design_dew = fahrenheit(95.0) + kelvins(10.0 if self.low else 15.0)
        end = f.dew_p(np.full_like(v["set_point"], float(self.design_dew)))
        ratio = end / v["set_point"]
        filled = 1 + v["clearance"][:, :1] - v["clearance"][:, :1] * ratio ** (1 / GAS_EXPONENT)
        swept = f.gas_rho(v["set_point"], kelvins(9.0) + warm + 0 * ratio) * filled
        margin = self.uniform(1.12, 1.4)[:, None]
        needed = margin * total / (swept * v["fill"][:, :1])
        share = np.array([[1.0, 1.0, 1.3, 0.8]]) * self.uniform(0.85, 1.15, k)
        parts = np.zeros((n, k))
        for g in range(GROUPS):
            own = np.where(owner == g, share, 0.0)
            own = own / np.maximum(own.sum(axis=1, keepdims=True), 1e-9)
            parts += np.where(owner == g, own * needed[:, g : g + 1], 0.0)
        v["displacement"] = parts
        rho = f.gas_rho(v["set_point"], kelvins(9.0) + warm + 0 * ratio)
        safe = np.maximum(total, 1e-4)
        filter_drop = (
            PSI * (self.uniform(0.1, 0.5) if self.low else self.uniform(0.2, 0.9))[:, None]
        )
        v["suction_filter_drop"] = filter_drop * rho / safe**2
        v["suction_valve_drop"] = 0.1 * PSI * rho / safe**2
        own_flow = np.take_along_axis(total * margin, owner, 1) / 2.2
        own_rho = np.take_along_axis(rho, owner, 1)
        v["service_valve_drop"] = 0.3 * PSI * own_rho / np.maximum(own_flow, 1e-3) ** 2
        v["discharge_limit"] = np.repeat(fahrenheit(self.uniform(195, 213))[:, None], k, 1)
        v["discharge_cooling"] = np.full((n, k), float(self.low))
        for name in ("valve_leak", "unloaded"):
            v[name] = np.zeros((n, k))
        v["available"] = np.ones((n, k))
        v["suction_transducer_bias"] = np.zeros((n, GROUPS))
        v["float_leak"] = np.zeros(n)
        isentropic = v["best_isentropic"][:, :1] * (1 - FALL * np.log(ratio / BEST_RATIO) ** 2)
        more = kelvins(9.0) + warm + 0 * ratio
        gas, entropy = f.gas_h(v["set_point"], more), f.gas_s(v["set_point"], more)
        work = (f.gas_h(end, f.superheat_of_s(end, entropy)) - gas) / isentropic
        out = ((gas + 0.9 * work) * total).sum(axis=1) / self.total
        # a condenser is bought for all machines on, not for the cases alone
        full = self.total * margin[:, 0]
        self.design_heat = full * (out - f.liquid_h(np.full(n, float(self.design_dew) - 4)))

    def _condenser(self) -> None:
        v, f, n = self.values, self.fluid, self.n
        difference = kelvins(self.uniform(7.5, 10.5) if self.low else self.uniform(11, 15))
        effect = self.uniform(0.55, 0.68)
        v["condenser_air"] = self.design_heat / (effect * difference)
        v["condenser_ua"] = -np.log(1 - effect) * v["condenser_air"] / (1 - 0.0)
        v["condenser_fans"] = self.rng.integers(4, 9, n).astype(float)
        v["condenser_volume"] = self.design_heat * self.uniform(1.2, 1.8) * 1e-6
        # without a subcooler a condenser is bought that cools its liquid well
        fitted = self.rng.random(n) < (0.85 if self.low else 0.35)
        v["subcooler"] = fitted.astype(float)
        v["condenser_liquid"] = np.where(fitted, self.uniform(0.1, 0.2), self.uniform(0.2, 0.3))
        rho = f.vapour_rho(f.dew_p(np.full(n, float(self.design_dew))))
        v["condenser_drop"] = PSI * self.uniform(2, 4) * rho / self.total**2
        v["discharge_drop"] = PSI * self.uniform(2, 4) * rho / self.total**2
        for name in (
            "fans_standing", "fans_backwards", "face_blocked", "recirculation", "air_in_condenser",
            "idle_half_filled", "receiver_gas_leak", "fans_stuck_on", "outdoor_sensor_bias",
            "head_transducer_bias", "reclaim", "reclaim_hold_up", "level_bias",
        ):  # fmt: skip
            v[name] = np.zeros(n)
        for name in ("part_in_use", "split_works", "hold_back_works", "receiver_regulator_works",
                     "subcooler_works"):  # fmt: skip
            v[name] = np.ones(n)
        v["recirculation"] = self.uniform(0.0, 0.03)
        control = self.rng.choice([FANS, SPLIT, HOLD_BACK], n, p=[0.45, 0.25, 0.3])
        v["head_control"] = control
        v["floor"] = fahrenheit(np.round(self.uniform(68, 78)))
        glide = f.dew_t(f.mid_p(np.full(n, 310.0))) - 310.0
        self.dew_difference = difference + glide + kelvins(1.2)
        v["float_difference"] = self.dew_difference * self.uniform(0.4, 0.6)
        v["split_below"] = fahrenheit(self.uniform(48, 58))
        held = fahrenheit(np.round(self.uniform(72, 80)))
        v["hold_back_setting"] = np.where(control == HOLD_BACK, f.dew_p(held), 0.0)
        v["receiver_setting"] = v["hold_back_setting"] - PSI * np.round(self.uniform(14, 22))
        v["design_condenser_difference"] = np.round(self.dew_difference * 9 / 5) * 5 / 9

    def _liquid_side(self) -> None:
        v, f, n, c = self.values, self.fluid, self.n, CIRCUITS
        t = np.full(n, float(self.design_dew) - 4)
        rho, total = f.liquid_rho(t), self.total
        for name, low, high in (
            ("drop_leg_drop", 0.2, 0.8), ("king_valve_drop", 0.1, 0.4), ("drier_drop", 0.4, 1.2),
            ("liquid_line_drop", 0.4, 1.6),
        ):  # fmt: skip
            v[name] = PSI * self.uniform(low, high) * rho / total**2
        fitted = v["subcooler"] > 0
        v["subcooler_leaving"] = fahrenheit(self.uniform(48, 55))
        v["lift"] = FOOT * np.where(fitted, self.uniform(8, 20), self.uniform(0, 5))
        v["branch_lift"] = FOOT * self.uniform(-2, 2, c)
        v["line_warming"] = total * 1450.0 * self.uniform(0.01, 0.04)
        v["line_ambient"] = fahrenheit(self.uniform(72, 85))
        safe = np.maximum(self.flow, 1e-5)
        v["branch_liquid_drop"] = PSI * self.uniform(0.3, 1.1, c) * rho[:, None] / safe**2
        least = np.where(v["head_control"] == HOLD_BACK, v["receiver_setting"], f.dew_p(v["floor"]))
        push = least[:, None] - PSI * 8 - (v["lift"] * rho * GRAVITY)[:, None] - self.coil_p
        opening = self.uniform(0.55, 0.75, c)
        v["valve_area"] = self.flow * 0.92 / np.sqrt(2 * 1130.0 * np.maximum(push, 2e5)) / opening
        v["valve_most"] = np.ones((n, c))
        v["valve_least"] = np.zeros((n, c))
        v["line_volume"] = total * self.uniform(0.25, 0.45)
        coils = (v["coil_volume"] * 0.2 * 0.9 * 1250).sum(axis=1)
        condenser = v["condenser_volume"] * ((0.06 + v["condenser_liquid"]) * rho + 50)
        fixed = v["line_volume"] * rho + coils + condenser
        winter = v["condenser_volume"] * 0.92 * 1180 * (v["head_control"] == HOLD_BACK)
        level = np.where(winter > 0, self.uniform(0.55, 0.7), self.uniform(0.28, 0.5))
        size = np.maximum(fixed * self.uniform(1.3, 1.7) / rho, winter / 1100 / (level - 0.22))
        v["receiver_volume"] = size
        v["charge"] = fixed + size * (level * rho + (1 - level) * 70)
        v["design_coil_difference"] = self.above
        v["design_load"] = (self.load).sum(axis=1)
        v["design_line_drop"] = np.full(n, PSI * (1.0 if self.low else 2.0))
