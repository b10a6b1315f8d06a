"""The curves of an invented store's defrosts, with faults put in on purpose.

All figures are our own scenario: low-temperature cases of one rack on hot gas, R-449A, some on
electric and some medium-temperature cases off cycle. What is simulated: load and frost by store
hours, schedules with jitter, pump-down, gas on, a coil that stands at 32 F while its frost melts
and then rises, termination by sensor or clock, drip, fans, recovery, sensor lag and noise, control
ripple. Temperatures in F, pressures in psig, times in minutes.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from expert.physics.fluids.saturation import saturation

ZONE = "America/Denver"
DAY = 1440


@dataclass
class LoggedCircuit:
    """One circuit of the scenario; `columns` are what its logger writes."""

    id: str
    kind: str = "hot gas"  # hot gas, electric, off cycle
    fault: str = ""
    per_day: int = 2
    air: float = -10.0
    below: float = 9.0
    frost: float = 6.0  # minutes at melting in the usual mix of hours
    offset: float = 0.0  # of the coil sensor
    columns: tuple[str, ...] = ("coil", "air", "pressure")
    own_header: bool = False
    truth: list[tuple[float, float, float]] = field(default_factory=list, repr=False)


_DEGREES = np.arange(-50.0, 120.0, 2.0)
_PSIG = [
    saturation("R-449A").dew_pressure((f + 459.67) / 1.8) / 6894.757 - 14.696 for f in _DEGREES
]


def saturated(f: np.ndarray | float) -> np.ndarray:
    """Dew pressure of R-449A [psig] at sea level."""
    return np.interp(f, _DEGREES, _PSIG)


def store(circuits: int, rng: np.random.Generator, faults: tuple[str, ...]) -> list[LoggedCircuit]:
    """The circuits: as many faulty ones as there are faults, spread among healthy ones."""
    cases = []
    for number in range(circuits):
        kind = "hot gas"
        if circuits >= 12 and number % 8 == 6:
            kind = "electric"
        if circuits >= 12 and number % 8 == 7:
            kind = "off cycle"
        letter = "B" if kind == "off cycle" else "E" if kind == "electric" else "A"
        case = LoggedCircuit(f"{letter}{number + 1}", kind)
        case.per_day = {"hot gas": int(rng.choice((2, 2, 3))), "electric": 1, "off cycle": 4}[kind]
        if kind == "off cycle":
            case.air, case.below = 30 + rng.uniform(-2, 2), 11 + rng.uniform(-1, 1)
        else:
            case.air, case.below = rng.uniform(-14, -6), rng.uniform(8, 10)
        case.frost = rng.uniform(5, 7.5)
        case.offset = rng.uniform(-1, 1)
        cases.append(case)
    hot = [case for case in cases if case.kind == "hot gas"]
    for case, fault in zip(rng.permutation(np.array(hot, dtype=object)), faults, strict=False):
        case.fault = fault
        if fault == "differential low":
            case.own_header = True
            case.columns += ("hot gas", "liquid")
        if fault == "valve shut":
            case.columns += ("state",)
    for case in cases:
        if case.kind != "hot gas":
            case.columns = ("coil", "air")
    if circuits >= 12:
        hot[0].columns = tuple(dict.fromkeys((*hot[0].columns, "state")))
    return cases


def simulate(
    days: int, cases: list[LoggedCircuit], rng: np.random.Generator, noise: float, start: datetime
) -> dict[str, np.ndarray]:
    """Columns by name over a grid of half minutes, and 'minute', the time from the start."""
    grid = np.arange(0, days * DAY, 0.5)
    zone = ZoneInfo(ZONE)
    local0 = start.astimezone(zone)
    hour = ((grid + local0.hour * 60 + local0.minute) / 60) % 24
    busy = np.clip(np.sin((hour - 7) / 15 * np.pi), 0, 1) * ((hour > 7) & (hour < 22))
    weather = 3 * np.sin(grid / DAY * 2 * np.pi / 9.3)
    head = 190 + 6 * np.sin((hour - 9) / 24 * 2 * np.pi) + weather + _drift(rng, grid, 2)
    suction = 8 + _drift(rng, grid, 0.25)
    liquid = head - 4
    out: dict[str, np.ndarray] = {"minute": grid}
    in_defrost = np.zeros(len(grid), dtype=bool)
    for slot, case in enumerate(cases):
        base = busy if case.kind != "off cycle" else 0.6 * busy
        air = case.air + 1.2 * base + _drift(rng, grid, 0.4) + 0.5 * np.sin(grid / 7.0 + slot)
        ice = np.zeros(len(grid))
        if case.fault == "iced coil":
            ice = np.linspace(0.5, 7, len(grid))
        coil = air - case.below - 1.0 * base - ice
        pressure = saturated(coil - 2)
        pressure = np.maximum(pressure, suction + 1)
        state = np.zeros(len(grid), dtype=int)
        _defrosts(
            case, grid, busy, rng, slot, air, coil, pressure, state, head, suction, in_defrost
        )
        lag = 1.2 if case.fault != "early sensor" else 0.8
        shown = _lag(coil, lag) + case.offset
        if case.fault == "sensor drift":
            shown = shown + np.linspace(0.5, 6.5, len(grid))
        out[f"{case.id} coil"] = shown + noise * rng.normal(0, 0.35, len(grid))
        out[f"{case.id} air"] = _lag(air, 1.5) + noise * rng.normal(0, 0.3, len(grid))
        if case.kind == "hot gas":
            out[f"{case.id} pressure"] = pressure + noise * rng.normal(0, 0.4, len(grid))
        out[f"{case.id} state"] = state
        if case.own_header:
            gas = (state == 2) * (head - 5) + (state != 2) * (head - 40)
            out[f"{case.id} hot gas"] = gas + noise * rng.normal(0, 0.4, len(grid))
            below = np.where(state == 2, head - 5 - 8, head - 4)
            out[f"{case.id} liquid"] = below + noise * rng.normal(0, 0.4, len(grid))
    gas = np.where(in_defrost, head - 5, head - 40)
    liquid = np.where(in_defrost, head - 5 - 16 - _drift(rng, grid, 0.3), liquid)
    out["hot-gas header"] = gas + noise * rng.normal(0, 0.4, len(grid))
    out["liquid header"] = liquid + noise * rng.normal(0, 0.4, len(grid))
    out["suction header"] = suction + noise * rng.normal(0, 0.2, len(grid))
    return out


def _defrosts(case, grid, busy, rng, slot, air, coil, pressure, state, head, suction, in_defrost):  # noqa: ANN001
    """Write every defrost of a circuit into its curves."""
    days = int(grid[-1] // DAY) + 1
    per_day = case.per_day * (2 if case.fault == "too many" else 1)
    every = DAY / per_day
    first = (slot * 47 + 5) % every
    for number in range(days * per_day):
        at = first + number * every + rng.uniform(-6, 6)
        if case.fault == "missed" and rng.random() < 0.2:
            continue
        if at < 90 or at > grid[-1] - 240:
            continue
        since = max(int((at - every) * 2), 0)
        load = 0.75 + 0.6 * float(busy[since : int(at * 2)].mean()) + rng.normal(0, 0.08)
        _one(case, int(at * 2), load, rng, air, coil, pressure, state, head, suction, in_defrost)


def _one(case, i, load, rng, air, coil, pressure, state, head, suction, in_defrost):  # noqa: ANN001
    """One defrost that begins at sample i (half minutes); `load` is its frost against the usual."""
    fault, n = case.fault, len(coil)
    dead = fault in ("valve shut", "no heat") and rng.random() < 0.85
    cold, warm_air = float(coil[i - 20 : i].mean()), float(air[i - 20 : i].mean())
    pump = int(rng.uniform(2, 4) * 2) if case.kind != "off cycle" else 0
    for k in range(pump):
        coil[i + k] = cold + 5 * (k + 1) / pump
        pressure[i + k] = suction[i + k] + 1 + 3 * np.exp(-k / 2)
        state[i + k] = 1
    i += pump
    setting, fail_safe = {
        "hot gas": (55.0, 24.0),
        "electric": (55.0, 50.0),
        "off cycle": (60, 45.0),
    }[case.kind]
    shown_bias = case.offset
    if fault == "sensor drift":
        shown_bias += 0.5 + 6.0 * i / n
    frost = case.frost * load
    rate, rise, drip = 20.0, 6.0, 5.0
    if case.kind == "electric":
        frost, rate, rise = frost * 2.2, 6.0, 2.6
    if case.kind == "off cycle":
        frost, rate, rise, drip = frost * 1.6, 2.2, 0.5, 0.0
    if fault == "heat weak":  # elements out: half of the heat
        rate, rise, frost = 3.0, 0.5, 1.6 * frost
    if fault == "differential low":
        frost, rise, rate = frost * 2.3, 3.5, 12.0
    if fault == "iced coil":
        frost = 60.0
    if fault == "early sensor":
        frost, rise = 0.3, 9.0
    if fault == "stop leaking":
        frost, rise = frost * 1.3, 5.0
    if fault == "drip short":
        drip = 1.0
    value, melted, length = float(coil[i - 1]), 0.0, 0
    while True:
        t = length / 2
        if dead:
            value += 0.35 * (float(air[i + length]) - value) * 0.5
        elif value < 32 and melted <= 0:
            value = min(value + rate * 0.5, 32.0)
        elif melted < frost:
            value, melted = 32.0 + 0.5 * melted / frost, melted + 0.5
        else:
            value += rise * 0.5 * (1 - max(value - 32, 0) / 80)
        if case.kind == "off cycle":
            air_now = float(air[i + length])
            target = warm_air + 12 * (1 - np.exp(-t / 14))
            air[i + length] = max(air_now, target)
            value = min(value, air[i + length] - 0.5) if value > 32 else value
        else:
            air[i + length] = warm_air + 14 * (1 - np.exp(-t / 18))
        coil[i + length] = value
        state[i + length] = 2
        if case.kind == "hot gas":
            in_defrost[i + length] |= not case.own_header
            floor, top = float(suction[i + length]) + 2, float(head[i + length])
            push = 5 + 8 - 5 if case.own_header else 5 + 16 - 6
            full = top - push
            if fault == "stop leaking":
                full = 0.55 * full
            full = floor if dead else full
            pressure[i + length] = floor + (full - floor) * (1 - np.exp(-(t + 0.25) / 0.9))
        length += 1
        if t + 0.5 >= fail_safe or value + shown_bias >= setting + 0.4 * (rng.random() - 0.5):
            break
    j = i + length
    case.truth.append((i / 2, j / 2, j / 2 + drip))
    held, top_p = value, float(pressure[j - 1])
    dripping = int(drip * 2)
    for k in range(dripping):
        t = (k + 1) / 2
        held += (max(30.0, held - 8) - held) * 0.06 if held > 32 else 0.0
        coil[j + k] = held
        air[j + k] = warm_air + 14 + 0.2 * t
        state[j + k] = 3
        if case.kind == "hot gas":
            rest = max(float(saturated(min(held, 50))), float(suction[j]) + 3)
            rest = min(rest, top_p)
            speed = 1.5
            if fault == "stop leaking":
                rest, speed = float(suction[j]) + 3, 1.1
            pressure[j + k] = rest + (top_p - rest) * np.exp(-t / speed)
    j += dripping
    tail = min(720, n - j)
    t = (np.arange(tail) + 1) / 2
    fade = np.exp(-t / (4.0 if case.kind != "off cycle" else 7.0))
    coil[j : j + tail] += fade * (held - coil[j : j + tail])
    peak, slow = float(air[j - 1]), 9.0
    if fault == "slow recovery":
        slow = 75.0
    if case.kind == "off cycle":
        slow = 10.0
    delay = 3.0 if case.kind != "off cycle" else 0.0
    air[j : j + tail] += np.exp(-np.maximum(t - delay, 0) / slow) * (peak - air[j : j + tail])
    if case.kind == "hot gas":
        top_p = float(pressure[j - 1])
        pressure[j : j + tail] += np.exp(-t / 1.2) * (top_p - pressure[j : j + tail])
        if fault == "slow recovery":
            pressure[j : j + tail] += 9 * np.exp(-t / 60)


def _lag(values: np.ndarray, minutes: float) -> np.ndarray:
    """First-order lag of a sensor on the half-minute grid."""
    keep = np.exp(-0.5 / minutes)
    kernel = (1 - keep) * keep ** np.arange(int(12 * minutes * 2))
    kernel /= kernel.sum()
    padded = np.concatenate((np.full(len(kernel) - 1, values[0]), values))
    size = 1 << int(np.ceil(np.log2(len(padded) + len(kernel))))
    whole = np.fft.irfft(np.fft.rfft(padded, size) * np.fft.rfft(kernel, size), size)
    return whole[len(kernel) - 1 : len(kernel) - 1 + len(values)]


def _drift(rng: np.random.Generator, grid: np.ndarray, size: float) -> np.ndarray:
    """A slow wander of about the given size."""
    knots = np.arange(0, grid[-1] + 121, 120)
    steps = np.zeros(len(knots))
    for k in range(1, len(knots)):
        steps[k] = 0.8 * steps[k - 1] + rng.normal(0, 0.6)
    return size * np.interp(grid, knots, steps)
