"""Vacuum conversions and the verdict on a standing vacuum."""

from __future__ import annotations

import math

import pytest
from check_values import MICRON, kelvin, service
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.tightness.vacuum import VacuumLimits, VacuumVerdict, standing_vacuum
from expert.units.kinds import INHG, Kind, Unit, units_of

LIMITS = VacuumLimits(highest=1000 * MICRON, wait=1800, steady=20 * MICRON, levelling=0.35)
ROOM = kelvin(70)


def unit(kind: Kind, name: str) -> Unit:
    return next(one for one in units_of(kind) if one.name == name)


def judge(levels: list[float], minutes: float = 40, pipe: float = ROOM) -> VacuumVerdict:
    step = minutes * 60 / (len(levels) - 1)
    readings = [(number * step, level * MICRON) for number, level in enumerate(levels)]
    return standing_vacuum(readings, pipe, LIMITS).verdict


def test_microns_convert_to_the_other_units_of_vacuum() -> None:
    case = service("VA12")
    microns = unit(Kind.ABSOLUTE_PRESSURE, "micron")
    for number, inches, below, millibar in zip(
        case["inputs"]["microns"],
        case["expected"]["inHg_absolute"],
        case["expected"]["inHg_vacuum_at_29.921"],
        case["expected"]["mbar"],
        strict=True,
    ):
        pascal = microns.to_si(number)
        gauge = formula("vacuum_below_barometer").compute(
            Context(barometer=29.921 * INHG), vacuum=pascal
        )
        assert unit(Kind.ABSOLUTE_PRESSURE, "inHga").from_si(pascal) == pytest.approx(
            inches, abs=5e-5
        )
        assert unit(Kind.GAUGE_PRESSURE, "inHg vac").from_si(gauge) == pytest.approx(
            below, abs=5e-4
        )
        assert unit(Kind.ABSOLUTE_PRESSURE, "mbar").from_si(pascal) == pytest.approx(
            millibar, rel=1e-4
        )


def test_a_vacuum_that_levels_off_low_is_tight_and_dry() -> None:
    assert judge([300, 420, 450, 455, 456]) is VacuumVerdict.TIGHT_AND_DRY


def test_a_vacuum_that_does_not_move_is_tight_and_dry() -> None:
    assert judge([300, 305, 300, 310]) is VacuumVerdict.TIGHT_AND_DRY


def test_a_vacuum_that_levels_off_in_the_thousands_is_water() -> None:
    assert judge([400, 2500, 3600, 3900, 4000]) is VacuumVerdict.WATER


def test_a_straight_climb_is_a_leak() -> None:
    assert judge([400, 1400, 2400, 3400, 4400]) is VacuumVerdict.LEAK


def test_a_level_above_the_pressure_of_water_is_a_leak_whatever_its_shape() -> None:
    # Water at 40 F holds 6,300 microns.
    assert judge([400, 5000, 7000, 7400, 7500], pipe=kelvin(40)) is VacuumVerdict.LEAK


def test_a_good_level_that_still_climbs_is_not_called_yet() -> None:
    assert judge([200, 300, 400, 500, 600]) is VacuumVerdict.TOO_SOON


def test_a_short_wait_is_not_called_yet() -> None:
    assert judge([300, 310, 320], minutes=10) is VacuumVerdict.TOO_SOON


def test_the_verdict_says_what_it_saw() -> None:
    found = standing_vacuum([(0, 40.0), (1200, 500.0), (2400, 540.0)], ROOM, LIMITS)
    assert found.rise == pytest.approx(500)
    assert found.second_half_share == pytest.approx(0.08)
    assert "warmest pipe" in found.reason


@pytest.mark.parametrize(
    "readings",
    [
        [(0, 40.0), (60, 50.0)],
        [(0, 40.0), (60, 50.0), (60, 60.0)],
        [(0, 40.0), (60, -1.0), (120, 60.0)],
        [(0, 40.0), (60, math.nan), (120, 60.0)],
    ],
    ids=["two readings", "same time twice", "below zero", "not a number"],
)
def test_readings_that_cannot_show_a_shape_are_refused(readings: list[tuple[float, float]]) -> None:
    with pytest.raises(PhysicsError):
        standing_vacuum(readings, ROOM, LIMITS)


@given(
    st.lists(st.floats(1, 1e5), min_size=3, max_size=8),
    st.floats(kelvin(-20), kelvin(120)),
    st.floats(60, 1e5),
)
def test_every_rise_gets_one_of_the_verdicts(levels: list[float], pipe: float, time: float) -> None:
    readings = [(number * time, level * MICRON) for number, level in enumerate(levels)]
    found = standing_vacuum(readings, pipe, LIMITS)
    assert found.verdict in VacuumVerdict
    if found.verdict is VacuumVerdict.TIGHT_AND_DRY:
        assert levels[-1] <= 1000 * (1 + 1e-9)


def test_a_straight_climb_has_half_its_rise_in_the_second_half() -> None:
    found = formula("standing_vacuum_late_share").compute(Context(), start=40, middle=90, end=140)
    assert found == pytest.approx(0.5)


def test_the_shape_of_no_rise_is_refused() -> None:
    with pytest.raises(OutOfRange, match="did not rise"):
        formula("standing_vacuum_late_share").compute(Context(), start=40, middle=40, end=40)


def test_a_pressure_above_the_barometer_is_not_a_vacuum() -> None:
    with pytest.raises(OutOfRange, match="not a vacuum"):
        formula("vacuum_below_barometer").compute(Context(), vacuum=2e5)


def test_the_air_that_a_rise_means_is_volume_times_rise_over_gas_constant() -> None:
    # 0.5 m3, 100 Pa in an hour at 20 C: 0.5 x 100 / (3600 x 287.042 x 293.15) kg/s, by hand.
    found = formula("standing_vacuum_leak").compute(
        Context(), volume=0.5, duration=3600.0, start=50.0, end=150.0, pipe_temperature=293.15
    )
    assert found == pytest.approx(1.6506e-7, rel=1e-4)
