"""How a measure is shown: on a screen, in both unit systems, in JSON."""

from __future__ import annotations

import pytest

from expert.units.kinds import Kind
from expert.units.measure import (
    Measure,
    as_json,
    difference_kind,
    format_both,
    format_measure,
    format_value,
)

PSI = 6894.757293168


def test_a_value_is_rounded_to_what_can_be_read() -> None:
    assert format_value(Kind.PRESSURE_DIFFERENCE, 8.04 * PSI) == "8.0 psi"
    assert format_value(Kind.PRESSURE_DIFFERENCE, 8.04 * PSI, "si") == "0.55 bar"


def test_nothing_is_shown_as_minus_zero() -> None:
    assert format_value(Kind.TEMPERATURE_DIFFERENCE, -0.001) == "0.0 F"


def test_a_number_without_a_unit_has_no_trailing_space() -> None:
    assert format_value(Kind.COUNT, 3.0) == "3"


def test_a_pressure_below_the_barometer_stays_a_negative_gauge_pressure() -> None:
    assert format_value(Kind.GAUGE_PRESSURE, -5 * PSI) == "10.2 inHg vac"
    assert format_value(Kind.GAUGE_PRESSURE, -5 * PSI, "si") == "-0.34 bar"


def test_the_spread_of_a_temperature_is_a_difference_without_a_zero_point() -> None:
    measure = Measure(Kind.TEMPERATURE, 255.372, 5 / 9)
    assert format_measure(measure) == "0.0 F +/- 1.0"
    assert format_measure(measure, "si") == "-17.8 C +/- 0.6"


def test_the_spread_is_left_out_on_request() -> None:
    assert format_measure(Measure(Kind.SHARE, 0.4, 0.05), plus_minus=False) == "40 %"


def test_both_systems_are_shown_once_where_they_are_the_same() -> None:
    assert format_both(Measure(Kind.SHARE, 0.4)) == "40 %"
    assert format_both(Measure(Kind.PRESSURE_DIFFERENCE, 16 * PSI)) == "16.0 psi (1.10 bar)"


def test_json_has_value_and_unit_and_the_spread_only_where_it_is_known() -> None:
    assert as_json(Measure(Kind.GAUGE_PRESSURE, 23.97 * PSI)) == {"value": 23.97, "unit": "psig"}
    assert as_json(Measure(Kind.GAUGE_PRESSURE, 23.97 * PSI, 0.1 * PSI)) == {
        "value": 23.97,
        "unit": "psig",
        "plus_minus": 0.1,
    }


def test_json_gives_the_spread_of_a_temperature_in_degrees_of_difference() -> None:
    shown = as_json(Measure(Kind.TEMPERATURE, 300.0, 1.0), "us")
    assert shown["plus_minus"] == pytest.approx(1.8)


def test_a_spread_of_zero_is_said_in_json() -> None:
    assert as_json(Measure(Kind.TEMPERATURE, 300.0, 0.0), "si")["plus_minus"] == 0.0


def test_a_deep_vacuum_is_shown_in_microns_with_its_spread_in_microns() -> None:
    # NIST SP 811 (2008): 1 conventional millimetre of mercury is 133.3224 Pa.
    vacuum = Measure(Kind.ABSOLUTE_PRESSURE, 500 * 0.1333224, 25 * 0.1333224)
    assert format_measure(vacuum) == "500 micron +/- 25.0"
    assert format_both(vacuum) == "500 micron"
    assert format_value(Kind.PRESSURE_DIFFERENCE, 250 * 0.1333224) == "250 micron"


def test_an_ordinary_absolute_pressure_and_no_difference_at_all_stay_in_the_usual_unit() -> None:
    assert format_value(Kind.ABSOLUTE_PRESSURE, 14.7 * PSI) == "14.7 psia"
    assert format_value(Kind.ABSOLUTE_PRESSURE, 0.0) == "0.0 psia"
    assert format_value(Kind.PRESSURE_DIFFERENCE, 0.0) == "0.0 psi"
    assert format_value(Kind.PRESSURE_DIFFERENCE, 0.1 * PSI) == "0.1 psi"


def test_json_keeps_the_unit_of_the_system_and_the_digits_of_a_small_number() -> None:
    assert as_json(Measure(Kind.ABSOLUTE_PRESSURE, 500 * 0.1333224, 25 * 0.1333224)) == {
        "value": pytest.approx(500 * 0.1333224 / PSI, rel=1e-11),
        "unit": "psia",
        "plus_minus": pytest.approx(25 * 0.1333224 / PSI, rel=1e-11),
    }


@pytest.mark.parametrize(
    ("kind", "difference"),
    [
        (Kind.TEMPERATURE, Kind.TEMPERATURE_DIFFERENCE),
        (Kind.GAUGE_PRESSURE, Kind.PRESSURE_DIFFERENCE),
        (Kind.ABSOLUTE_PRESSURE, Kind.PRESSURE_DIFFERENCE),
        (Kind.DURATION, Kind.DURATION),
    ],
)
def test_a_difference_is_not_a_position(kind: Kind, difference: Kind) -> None:
    assert difference_kind(kind) is difference


def test_an_interval_without_a_spread_is_a_point() -> None:
    exact = Measure(Kind.DURATION, 60.0)
    assert (exact.low, exact.high) == (60.0, 60.0)
