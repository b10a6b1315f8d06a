"""Vacuum readings: conversions, and what a standing vacuum that rises is telling.

Sources: NIST SP 811 (2008), appendix B (1 micron of mercury = 0.1333224 Pa); common practice;
common practice: a leak climbs straight, water levels off; ideal gas law, dry air 287.042 J/(kg K)
of ASHRAE Handbook Fundamentals 2017 ch. 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from itertools import pairwise
from math import isfinite

from expert.made_when_used import dataclass
from expert.physics.air.water import vapour_pressure
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.frame.refusals import INFINITY, above_zero
from expert.units.kinds import Kind, units_of

OF_READING = 0.1  # what an electronic vacuum gauge may be off, as in instruments.yaml
AIR_GAS_CONSTANT = 287.042  # J/(kg K), dry air, ASHRAE Handbook Fundamentals 2017 ch. 1


class VacuumVerdict(StrEnum):
    """What the shape of the rise says. `TOO_SOON` is an answer: wait and read again.

    `TOO_CLOSE`: the instruments may be off by more than what decides.
    """

    TIGHT_AND_DRY = "tight and dry"
    WATER = "water"
    LEAK = "leak"
    TOO_SOON = "too soon to say"
    TOO_CLOSE = "too close to call"


@dataclass(frozen=True)
class VacuumLimits:
    """What the judge needs; the figures belong to the limits of the pack, not here.

    `highest` is the level after isolation that still counts as tight and dry [Pa], `wait` the
    shortest standing time [s], `steady` the rise that the gauge cannot tell from none [Pa],
    `levelling` the share of the rise in the second half of the time below which it levels off
    (one half is a straight climb).
    """

    highest: float
    wait: float
    steady: float
    levelling: float


@dataclass(frozen=True)
class StandingVacuum:
    """Verdict with its reason; rise [Pa], second-half share of it, pressure of water [Pa]."""

    verdict: VacuumVerdict
    reason: str
    rise: float
    second_half_share: float | None
    water_pressure: float


def standing_vacuum(
    readings: Sequence[tuple[float, float]],
    warmest_pipe: float,
    limits: VacuumLimits,
    gauge_error: float = 0.0,
    pipe_error: float = 0.0,
) -> StandingVacuum:
    """Judge a vacuum that was isolated from the pump.

    `readings` are (seconds since isolation, pressure [Pa absolute]) in order of time, three or
    more. `warmest_pipe` [K] sets the highest pressure that water alone can hold. `gauge_error` is
    a share of all readings, of one gauge; `pipe_error` [K]. Raises
    `PhysicsError` for too few or disordered readings, `OutOfRange` for a temperature no pipe has.
    """
    _check(readings)
    water = vapour_pressure(warmest_pipe)
    (begin, first), (finish, last) = readings[0], readings[-1]
    rise = last - first
    half = _at(readings, (begin + finish) / 2)
    share = (last - half) / rise if rise > limits.steady else None
    if -rise > max(limits.steady, gauge_error * first):
        return StandingVacuum(VacuumVerdict.TOO_SOON, _FELL, rise, None, water)
    verdict, reason = _verdict(finish - begin, last, share, water, limits)
    for scale, degrees in ((1 - gauge_error, pipe_error), (1 + gauge_error, -pipe_error)):
        held = vapour_pressure(warmest_pipe + degrees)
        other, why = _verdict(finish - begin, last * scale, share, held, limits)
        if other is not verdict:
            reason = f"{verdict} ({reason}), or {other} ({why}): the instruments may be off by that"
            return StandingVacuum(VacuumVerdict.TOO_CLOSE, reason, rise, share, water)
    return StandingVacuum(verdict, reason, rise, share, water)


_FELL = (
    "the level fell: the section is still open to the pump, or the gauge has not settled; "
    "isolate it and begin again"
)


def _verdict(
    time: float, last: float, share: float | None, water: float, limits: VacuumLimits
) -> tuple[VacuumVerdict, str]:
    if last > max(water, limits.highest):
        return VacuumVerdict.LEAK, (
            f"{_microns(last)} is above the {_microns(water)} that water at the warmest pipe can "
            "hold, so air is coming in"
        )
    if time < limits.wait:
        return VacuumVerdict.TOO_SOON, (
            f"{time / 60:.0f} minutes of the {limits.wait / 60:.0f} that the test needs"
        )
    if last <= limits.highest:
        if share is None or share < limits.levelling:
            return VacuumVerdict.TIGHT_AND_DRY, f"it stays at or levels off at {_microns(last)}"
        return VacuumVerdict.TOO_SOON, (
            f"{_microns(last)} is good but the rise has not levelled off: wait as long again"
        )
    if share is None or share < limits.levelling:
        return VacuumVerdict.WATER, (
            f"it levels off at {_microns(last)}, under the {_microns(water)} of water at the "
            "warmest pipe: break with dry nitrogen, warm the cold parts, pull again"
        )
    return VacuumVerdict.LEAK, (
        f"a straight climb through {_microns(last)}; very wet piping can look the same for a while"
    )


def _check(readings: Sequence[tuple[float, float]]) -> None:
    if len(readings) < 3:
        raise PhysicsError("A standing vacuum needs at least three readings to show its shape.")
    if not all(isfinite(time) and isfinite(level) for time, level in readings):
        raise PhysicsError("A standing vacuum reading is not a number.")
    if any(later[0] <= earlier[0] for earlier, later in pairwise(readings)):
        raise PhysicsError("Standing vacuum readings must be in order of time.")
    if any(level <= 0 for _, level in readings):
        raise PhysicsError("A vacuum is an absolute pressure and must be above zero.")


def _at(readings: Sequence[tuple[float, float]], time: float) -> float:
    for (before, low), (after, high) in pairwise(readings):
        if time <= after:
            return low + (high - low) * (time - before) / (after - before)
    return readings[-1][1]


def _microns(pressure: float) -> str:
    unit = next(u for u in units_of(Kind.ABSOLUTE_PRESSURE) if u.name == "micron")
    return f"{unit.from_si(pressure):,.0f} microns"


def _below_barometer(context: Context, vacuum: float) -> float:
    if not 0 <= vacuum <= context.barometer:
        raise OutOfRange(
            "The vacuum",
            vacuum,
            0.0,
            context.barometer,
            Kind.ABSOLUTE_PRESSURE,
            "above the barometer it is a pressure, not a vacuum",
        )
    return context.gauge(vacuum)


def _rise(context: Context, start: float, end: float) -> float:
    _not_fallen(start, end)
    return end - start


def _not_fallen(start: float, end: float) -> None:
    if end < (1 - OF_READING) * start:
        raise OutOfRange(
            "The level at the end", end, start, INFINITY, Kind.ABSOLUTE_PRESSURE, _FELL
        )


def _late_share(context: Context, start: float, middle: float, end: float) -> float:
    _not_fallen(start, middle)
    _not_fallen(middle, end)
    if not start < end < INFINITY:
        raise OutOfRange(
            "The level at the end",
            end,
            start,
            INFINITY,
            Kind.ABSOLUTE_PRESSURE,
            "the vacuum did not rise, so there is no rise to judge",
        )
    return (end - middle) / (end - start)


def _air_leak(
    context: Context,
    volume: float,
    duration: float,
    start: float,
    end: float,
    pipe_temperature: float,
) -> float:
    above_zero("The volume of the section", volume, Kind.VOLUME)
    above_zero("The standing time", duration, Kind.DURATION)
    above_zero("The pipe temperature", pipe_temperature, Kind.TEMPERATURE)
    if end < start:
        raise OutOfRange(
            "The level at the end", end, start, INFINITY, Kind.ABSOLUTE_PRESSURE, _FELL
        )
    return volume * (end - start) / (duration * AIR_GAS_CONSTANT * pipe_temperature)


_VACUUM = ("micron", "micron")
_MICRONS = dict.fromkeys(("vacuum", "start", "middle", "end", "standing_vacuum_rise"), _VACUUM)

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="vacuum_below_barometer",
        title="vacuum as a gauge shows it, below the barometer of the site",
        inputs={"vacuum": Kind.ABSOLUTE_PRESSURE},
        output=Kind.GAUGE_PRESSURE,
        text="absolute pressure - barometer",
        source="published: NIST SP 811 (2008), appendix B (1 micron of mercury = 0.1333224 Pa)",
        compute=_below_barometer,
        validity="0 to the barometer",
        usual=_MICRONS,
    ),
    Formula(
        name="standing_vacuum_rise",
        title="rise of a standing vacuum",
        inputs={"start": Kind.ABSOLUTE_PRESSURE, "end": Kind.ABSOLUTE_PRESSURE},
        output=Kind.PRESSURE_DIFFERENCE,
        text="level at the end - level when the pump was shut off",
        source="common practice",
        compute=_rise,
        usual=_MICRONS,
        validity="one gauge, at the section and not at the pump, which is shut off",
    ),
    Formula(
        name="standing_vacuum_late_share",
        title="share of the rise in the second half of the standing time",
        inputs={
            "start": Kind.ABSOLUTE_PRESSURE,
            "middle": Kind.ABSOLUTE_PRESSURE,
            "end": Kind.ABSOLUTE_PRESSURE,
        },
        output=Kind.SHARE,
        text="(level at the end - level at half time) / (level at the end - level at the start); "
        "50 % is a straight climb (leak), well under it the rise levels off",
        source="common practice: a leak climbs straight, water levels off",
        compute=_late_share,
        usual=_MICRONS,
        validity="readings of one gauge, the middle one at half the time",
    ),
    Formula(
        name="standing_vacuum_leak",
        title="air leak that the rise would mean if all of it were air",
        inputs={
            "volume": Kind.VOLUME,
            "duration": Kind.DURATION,
            "start": Kind.ABSOLUTE_PRESSURE,
            "end": Kind.ABSOLUTE_PRESSURE,
            "pipe_temperature": Kind.TEMPERATURE,
        },
        output=Kind.MASS_FLOW,
        text="volume x rise / (time x gas constant of air x absolute temperature); an upper bound, "
        "since water and gas from the oil rise too",
        source="computed: ideal gas law, dry air 287.042 J/(kg K) of ASHRAE Handbook Fundamentals "
        "2017 ch. 1",
        compute=_air_leak,
        usual=_MICRONS,
        validity="all of the rise is air, at the temperature of the pipe",
    ),
)
