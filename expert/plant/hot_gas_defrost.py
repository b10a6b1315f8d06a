"""A hot-gas defrost of one circuit: what is built and set, and how it runs, many at once.

Lumped: the coil is five sections in the order in which the gas meets them. Gas comes through the
header and the branch; what condenses leaves round the expansion valve to the liquid header, pushed
by the defrost differential; what cannot leave stands in the far sections and keeps them cold.
Frost melts at 32 F. It ends on its sensor or on the clock; then drip, then cooling.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.random import Generator

from expert.plant.design import PSI, kelvins
from expert.plant.fluid import Array, fluid
from expert.plant.solve import SolvedPlants

SECTIONS = 5
STEP = 5.0  # s
LONGEST = 45 * 60.0  # s
ICE_POINT = 273.15
MELTING_HEAT = 334e3  # J/kg
ICE_HEAT = 2100.0  # J/(kg K)
GAS_HEAT = 1000.0  # J/(kg K) of hot gas
MINUTE = 60.0


@dataclass
class Defrosts:
    """A batch of defrosts (P,); SI. Shares of openings: 1 is as it should be."""

    refrigerant: str
    barometer: Array
    discharge: Array  # discharge header before the gas comes on
    suction: Array
    liquid_rest: Array  # liquid header before the gas comes on
    branch_rest: Array  # liquid in the branch before [K]
    gas_temperature: Array  # in the hot-gas header
    load: Array  # W of the circuit
    load_share: Array  # of the rack in defrost with this circuit alone
    others: Array  # other circuits in defrost at the same time
    air: Array  # case air before
    return_air: Array
    coil_before: Array  # coil outlet temperature while it cools
    frost: Array  # kg on the coil
    frost_spread: Array  # how much more of it lies in the far sections
    differential: Array  # Pa that the regulator holds
    regulator_acts: Array
    master: Array  # opening of the master hot-gas solenoid
    branch: Array  # opening of the circuit's hot-gas solenoid
    check: Array  # opening of the check round the expansion valve
    stop_leak: Array  # of the suction stop, 1 is wide open
    liquid_passes: Array  # of the liquid solenoid, 1 is open
    fans_on: Array
    gas_area: Array  # m2
    drain_area: Array
    stop_area: Array
    pump_down: Array  # s
    termination: Array  # K
    sensor_section: Array
    sensor_cold: Array  # share of the way from tube to air that the sensor reads
    sensor_offset: Array
    fail_safe: Array
    drip: Array
    fan_delay: Array
    reopening: Array  # of the suction regulator after drip
    drain_blocked: Array
    marks: dict[str, Array] = field(default_factory=dict)

    def copy(self) -> Defrosts:
        """The same with arrays of its own."""
        own: dict[str, Any] = {
            each.name: getattr(self, each.name).copy()
            for each in fields(self)
            if each.name not in ("refrigerant", "marks")
        }
        return replace(self, marks={n: v.copy() for n, v in self.marks.items()}, **own)


def draw_defrosts(state: SolvedPlants, circuits: Array, seed: int) -> Defrosts:
    """Healthy defrosts of one circuit of each solved plant (common practice for their sizes)."""
    rng = np.random.default_rng(seed)
    p, n = state.plants, state.plants.count
    f, rows = fluid(p.refrigerant), np.arange(n)
    load = state.circuits.heat[rows, circuits]
    total = np.maximum((state.circuits.heat * p.present).sum(axis=1), 1.0)
    u = rng.uniform
    groups = p.group_of_circuit[rows, circuits].astype(int)
    ones = np.ones(n)
    discharge = state.discharge.copy()
    flow = load * 1.5 / 1.7e5  # kg/s of gas that the coil is meant to take
    gas_rho = f.gas_rho(discharge, np.full(n, 25.0))
    supply, drain = PSI * u(4, 8, n), PSI * u(2, 4.5, n)
    low = p.low_temperature > 0
    temperature = f.dew_t(discharge) + kelvins(_between(rng, n, 35, 75))
    differential = PSI * np.round(u(15.5, 19.5, n))
    minutes = np.where(low, u(23, 29, n), u(18, 24, n))
    return Defrosts(
        refrigerant=p.refrigerant,
        barometer=p.barometer.copy(),
        discharge=discharge,
        suction=state.header[rows, groups],
        liquid_rest=state.liquid.header.copy(),
        branch_rest=state.liquid.header_temperature.copy(),
        gas_temperature=temperature,
        load=load,
        load_share=load / total,
        others=np.zeros(n),
        air=state.circuits.discharge_air[rows, circuits],
        return_air=state.circuits.return_air[rows, circuits],
        coil_before=f.dew_t(state.circuits.coil_pressure[rows, circuits])
        + state.circuits.superheat[rows, circuits],
        frost=load * u(1.0e-3, 1.6e-3, n) * np.where(low, 1.0, 0.6),
        frost_spread=u(0.1, 0.35, n),
        differential=differential,
        regulator_acts=ones.copy(),
        master=ones.copy(),
        branch=ones.copy(),
        check=ones.copy(),
        stop_leak=np.zeros(n),
        liquid_passes=np.zeros(n),
        fans_on=np.zeros(n),
        gas_area=flow / np.sqrt(2 * gas_rho * supply),
        drain_area=flow / np.sqrt(2 * 1150.0 * drain),
        stop_area=flow / np.sqrt(2 * gas_rho * 100 * PSI) * 6,
        pump_down=MINUTE * u(1.5, 3.5, n),
        termination=ICE_POINT + kelvins(np.round(u(50, 56, n)) - 32),
        sensor_section=np.full(n, float(SECTIONS - 1)),
        sensor_cold=np.zeros(n),
        sensor_offset=np.zeros(n),
        fail_safe=MINUTE * np.round(minutes),
        drip=MINUTE * np.round(u(3.5, 6, n)),
        fan_delay=MINUTE * np.round(u(1.5, 3.5, n) * 2) / 2,
        reopening=ones.copy(),
        drain_blocked=np.zeros(n),
    )


def _between(rng: Generator, n: int, low: float, high: float) -> Array:
    return rng.uniform(low, high, n)


@dataclass
class DefrostCourse:
    """How each defrost ran: curves (T, P) by time from gas on, and what it came to (P,)."""

    times: Array
    coil_pressure: Array
    liquid_branch: Array
    stop_line: Array
    frost: Array  # (T, P) kg left
    pumped_down: Array  # coil outlet temperature when the gas came on
    hot_gas_header: Array
    liquid_header: Array
    discharge: Array
    suction: Array
    length: Array  # s
    by_sensor: Array
    clear_at: Array  # s, nan where it was not clear
    sensor: Array  # reading at the end
    last_tube: Array
    left: Array  # kg, by section (P, s)
    air: Array


def run_defrosts(d: Defrosts) -> DefrostCourse:
    """Pump-down, gas, end."""
    f, n = fluid(d.refrigerant), len(d.load)
    share = np.minimum(d.load_share * (1.0 + d.others * 0.9), 1.0)
    drawn = d.branch * d.master
    discharge = d.discharge - PSI * 32.0 * share * drawn
    gas_t = d.gas_temperature - kelvins(60.0) * np.maximum(share - 0.2, 0.0)
    pushed = discharge - PSI * (1.0 + 3.0 * drawn)
    header = np.where(d.master > 0.05, d.master * pushed + (1 - d.master) * d.suction, d.suction)
    header = np.where(d.master > 0.95, pushed / (1 + 0.05 * d.others * share), header)
    natural = np.maximum(discharge - (d.discharge - d.liquid_rest), 2e5)
    held = np.maximum(discharge, 3e5) - d.differential - PSI * 3.0
    liquid = np.where(d.regulator_acts > 0, np.minimum(natural, held), natural)
    liquid = d.regulator_acts * liquid + (1 - d.regulator_acts) * natural
    parts = np.arange(SECTIONS)[None, :]
    weight = 1.0 + d.frost_spread[:, None] * (parts - (SECTIONS - 1) / 2)
    frost = d.frost[:, None] * weight / weight.sum(axis=1, keepdims=True)
    empty = np.exp(-d.pump_down / 50.0)
    standing = d.load * 0.9e-4 * (empty * (1 - d.liquid_passes) + d.liquid_passes)
    warm = kelvins(14.0) * (1 - np.exp(-d.pump_down / 90.0)) * (1 - d.liquid_passes)
    start = np.minimum(d.coil_before + warm, d.return_air + kelvins(3.0))
    coil = np.repeat(start[:, None] - kelvins(4.0), SECTIONS, 1)
    air = d.air.copy()
    metal = d.load[:, None] * 4.0 / SECTIONS
    ua = d.load[:, None] * 0.05 / SECTIONS
    to_air = d.load[:, None] * (0.006 + 0.09 * d.fans_on[:, None]) / SECTIONS
    room = d.load * 1.2e-4  # kg of liquid that fills the coil
    branch_t, stop_t = d.branch_rest.copy(), start.copy()
    ended = np.full(n, np.nan)
    clear = np.full(n, np.nan)
    out = {name: np.zeros(n) for name in ("sensor", "last", "air")}
    by_sensor = np.zeros(n)
    left = frost.copy()
    kept: dict[str, list[Array]] = {k: [] for k in ("p", "branch", "stop", "frost")}
    pressure = np.maximum(d.suction, 0.5 * liquid)
    times = np.arange(0.0, LONGEST, STEP)
    for t in times:
        filled = np.clip(standing / room, 0.0, 1.0)
        depth = np.clip(filled[:, None] * SECTIONS - (SECTIONS - 1 - parts), 0.0, 1.0)
        active = ua * (1.0 - 0.9 * depth)
        dry = 1.0 - np.clip(standing / (0.04 * room), 0.0, 1.0)
        pressure, condensing, gas = _pressure(d, f, (header, liquid), pressure, active, coil, dry)
        saturated = f.mid_t(pressure)
        heat = active * np.maximum(saturated[:, None] - coil, 0.0)
        sensible = gas * GAS_HEAT * np.maximum(gas_t - saturated, 0.0)
        fresh = np.exp(-t / 60.0) * 0.3
        heat[:, 0] += sensible * (1 - fresh) * 0.6
        heat[:, 1] += sensible * (1 - fresh) * 0.4
        can = d.check * d.drain_area * np.sqrt(2 * 1150.0 * np.maximum(pressure - liquid, 0.0))
        drained = np.minimum(can, condensing + standing / STEP)
        fed = d.liquid_passes * d.load / 1.5e5 * 0.6
        standing = np.clip(standing + STEP * (condensing + fed - drained), 0.0, 1.5 * room)
        net = heat - to_air * (coil - air[:, None])
        net -= (d.liquid_passes * d.load * 0.25 / SECTIONS)[:, None]
        icy = frost > 1e-6
        capacity = metal + frost * ICE_HEAT
        warmed = coil + STEP * net / capacity
        over = np.maximum(warmed - ICE_POINT, 0.0) * capacity
        melts = np.where(icy, np.minimum(over / MELTING_HEAT, frost), 0.0)
        coil = np.where(
            icy & (warmed > ICE_POINT), ICE_POINT + (over - melts * MELTING_HEAT) / capacity, warmed
        )
        frost = frost - melts
        loss = (to_air * (coil - air[:, None])).sum(axis=1)
        air = air + STEP * loss / (d.load * 40.0)
        branch_t = branch_t + STEP / 90.0 * np.where(
            drained + dry > 1e-5, 0.45 * saturated + 0.55 * coil[:, -1] - branch_t, 0.0
        ) * np.minimum((drained + dry * 2e-6 * d.load * d.check) / (0.2 * d.load / 1e5), 1.0)
        hot = np.minimum(d.stop_leak * 4, 1.0)
        stop_t = stop_t + STEP / 60.0 * (hot * 0.7 * (saturated - stop_t) + 0.003 * (285 - stop_t))
        chosen = coil[np.arange(n), d.sensor_section.astype(int)]
        sensor = chosen + d.sensor_cold * (air - chosen) + d.sensor_offset
        done = (sensor >= d.termination) & (t > MINUTE)
        ends = np.isnan(ended) & (done | (t >= d.fail_safe - STEP / 2))
        by_sensor = np.where(ends & done, 1.0, by_sensor)
        clear = np.where(np.isnan(clear) & (frost.sum(axis=1) < 0.01 * d.frost), t, clear)
        for name, value in (("sensor", sensor), ("last", coil[:, -1]), ("air", air)):
            out[name] = np.where(ends, value, out[name])
        left = np.where(ends[:, None], frost, left)
        ended = np.where(ends, t, ended)
        for name, row in (("p", pressure), ("branch", branch_t), ("stop", stop_t),
                          ("frost", frost.sum(axis=1))):  # fmt: skip
            kept[name].append(row)
        if not np.isnan(ended).any():
            break
    raised = d.stop_leak * PSI * 14.0 * np.minimum(d.load_share * 6, 1.0)
    return DefrostCourse(
        times=times[: len(kept["p"])], coil_pressure=np.array(kept["p"]),
        liquid_branch=np.array(kept["branch"]), stop_line=np.array(kept["stop"]),
        frost=np.array(kept["frost"]), pumped_down=start, hot_gas_header=header,
        liquid_header=liquid, discharge=discharge, suction=d.suction + raised,
        length=np.where(np.isnan(ended), LONGEST, ended), by_sensor=by_sensor,
        clear_at=np.where(clear <= ended, clear, np.nan), sensor=out["sensor"],
        last_tube=out["last"], left=left, air=out["air"],
    )  # fmt: skip


def _pressure(
    d: Defrosts,
    f: Any,
    headers: tuple[Array, Array],
    last: Array,
    active: Array,
    coil: Array,
    dry: Array,
) -> tuple[Array, Array, Array]:
    """Coil pressure at which as much gas comes as condenses and leaks; those flows."""
    header, liquid = headers
    low, high = np.maximum(d.suction * 0.95, 1e4), np.maximum(header, d.suction + 100.0)
    rho = f.gas_rho(np.maximum(header, 5e4), np.full_like(header, 20.0))
    area = d.gas_area * d.branch

    def balance(p: Array) -> tuple[Array, Array, Array]:
        gas = area * np.sqrt(2 * rho * np.maximum(header - p, 0.0))
        heat = (active * np.maximum(f.mid_t(p)[:, None] - coil, 0.0)).sum(axis=1)
        condensing = heat / 1.7e5
        away = np.sqrt(2 * f.vapour_rho(p) * np.maximum(p - d.suction, 0.0))
        through = np.sqrt(2 * f.vapour_rho(p) * np.maximum(p - liquid, 0.0))
        lost = d.stop_leak * d.stop_area * away + d.check * d.drain_area * dry * through
        return gas - condensing - lost, condensing, gas

    for _ in range(14):
        middle = (low + high) / 2
        rising = balance(middle)[0] > 0
        low, high = np.where(rising, middle, low), np.where(rising, high, middle)
    goal = (low + high) / 2
    p = last + 0.25 * (goal - last)  # the coil fills with gas in about half a minute
    _, condensing, gas = balance(p)
    return p, np.minimum(condensing, gas + 1e-9), gas
