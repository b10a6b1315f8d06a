"""Moist air against the handbook's example and against an independent library."""

from __future__ import annotations

import math

import psychrolib
import pytest
from check_values import CUBIC_FOOT, fahrenheit, kelvin, service
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.air.moist_air import (
    dew_point,
    enthalpy,
    humidity_from_wet_bulb,
    humidity_ratio,
    lowest_wet_bulb,
    relative_humidity,
    specific_volume,
)
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import ATMOSPHERE, BTU, POUND, PSI

psychrolib.SetUnitSystem(psychrolib.SI)
temperatures = st.floats(-25, 50)
humidities = st.floats(0.05, 1.0)


def test_dry_and_wet_bulb_give_the_handbook_example() -> None:
    case = service("PS10")
    given_, expected, within = case["inputs"], case["expected"], case["tolerance"]
    dry, barometer = kelvin(given_["dry_bulb_F"]), given_["psia"] * PSI
    humidity = humidity_from_wet_bulb(dry, kelvin(given_["wet_bulb_F"]), barometer)
    ratio = humidity_ratio(dry, humidity, barometer)
    assert humidity == pytest.approx(expected["RH"], abs=within["RH"])
    assert ratio == pytest.approx(expected["humidity_ratio"], abs=within["humidity_ratio"])
    assert fahrenheit(dew_point(dry, humidity)) == pytest.approx(
        expected["dew_point_F"], abs=within["dew_point_F"]
    )
    assert specific_volume(dry, ratio, barometer) / CUBIC_FOOT * POUND == pytest.approx(
        expected["volume_ft3_lb"], abs=within["volume"]
    )
    over_32 = enthalpy(dry, ratio) * POUND / BTU
    # The handbook counts dry air from 0 F and water from 32 F in these units: 0.240 x 32 more.
    assert over_32 + 0.240 * 32 == pytest.approx(
        expected["enthalpy_Btu_lb"], abs=within["enthalpy"]
    )


def test_store_air_has_the_dew_point_of_the_worked_example() -> None:
    case = service("PS12")
    found = dew_point(kelvin(case["inputs"]["dry_bulb_F"]), case["inputs"]["RH"])
    assert fahrenheit(found) == pytest.approx(
        case["expected"]["dew_point_F"], abs=case["tolerance_F"]
    )


@given(temperatures, humidities)
def test_an_independent_library_finds_the_same_dew_point(celsius: float, humidity: float) -> None:
    theirs = psychrolib.GetTDewPointFromRelHum(celsius, humidity)
    assert dew_point(celsius + 273.15, humidity) - 273.15 == pytest.approx(theirs, abs=0.02)


@given(temperatures, humidities, st.floats(7e4, 1.05e5))
def test_an_independent_library_finds_the_same_humidity_ratio(
    celsius: float, humidity: float, barometer: float
) -> None:
    theirs = psychrolib.GetHumRatioFromRelHum(celsius, humidity, barometer)
    assert humidity_ratio(celsius + 273.15, humidity, barometer) == pytest.approx(theirs, rel=5e-4)


@given(temperatures, st.floats(0.1, 1.0), st.floats(7e4, 1.05e5))
def test_an_independent_library_finds_the_same_humidity_from_its_wet_bulb(
    celsius: float, humidity: float, air: float
) -> None:
    wet_bulb = psychrolib.GetTWetBulbFromRelHum(celsius, humidity, air)
    found = humidity_from_wet_bulb(celsius + 273.15, min(wet_bulb, celsius) + 273.15, air)
    assert found == pytest.approx(humidity, abs=0.006)


@given(st.floats(kelvin(-20), kelvin(120)), humidities)
def test_humidity_to_dew_point_and_back_is_the_same(temperature: float, humidity: float) -> None:
    found = relative_humidity(temperature, min(dew_point(temperature, humidity), temperature))
    assert found == pytest.approx(humidity, rel=1e-6)


@given(st.floats(kelvin(-20), kelvin(120)), st.floats(0.05, 0.9), st.floats(0.01, 0.1))
def test_damper_air_has_a_higher_dew_point(
    temperature: float, humidity: float, more: float
) -> None:
    assert dew_point(temperature, humidity) < dew_point(temperature, humidity + more)


@given(st.floats(kelvin(-20), kelvin(120)))
def test_a_wet_bulb_at_the_dry_bulb_is_saturated_air(temperature: float) -> None:
    found = humidity_from_wet_bulb(temperature, temperature, ATMOSPHERE)
    assert found == pytest.approx(1.0, abs=1e-9)


def test_a_wet_bulb_that_no_air_can_have_is_refused() -> None:
    with pytest.raises(OutOfRange, match="wet bulb"):
        humidity_from_wet_bulb(kelvin(75), kelvin(76), ATMOSPHERE)
    with pytest.raises(OutOfRange, match="wet bulb"):
        humidity_from_wet_bulb(kelvin(75), kelvin(30), ATMOSPHERE)


def test_perfectly_dry_air_has_the_lowest_wet_bulb() -> None:
    lowest = lowest_wet_bulb(kelvin(75), ATMOSPHERE)
    assert humidity_from_wet_bulb(kelvin(75), lowest + 0.001, ATMOSPHERE) < 0.001


@pytest.mark.parametrize("humidity", [0.0, 1.01, -0.5, 55, math.nan])
def test_a_humidity_that_is_not_a_share_is_refused(humidity: float) -> None:
    with pytest.raises(OutOfRange):
        dew_point(kelvin(75), humidity)


def test_a_dew_point_above_the_air_is_refused() -> None:
    with pytest.raises(OutOfRange, match="never above"):
        relative_humidity(kelvin(60), kelvin(61))


@pytest.mark.parametrize("barometer", [0.0, -1.0, 1000.0, math.nan])
def test_a_barometer_at_which_water_would_boil_is_refused(barometer: float) -> None:
    with pytest.raises(OutOfRange):
        humidity_ratio(kelvin(75), 0.55, barometer)
