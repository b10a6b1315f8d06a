"""Moisture of the store air on the case coil."""

from __future__ import annotations

import math

import psychrolib
import pytest
from check_values import kelvin
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frost.moisture_load import moisture_heat, moisture_load, moisture_load_against
from expert.units.kinds import ATMOSPHERE, FOOT

psychrolib.SetUnitSystem(psychrolib.SI)
CFM = FOOT**3 / 60


def test_the_load_is_the_air_times_what_the_coil_takes_out() -> None:
    store, coil = kelvin(75), kelvin(20)
    water = psychrolib.GetHumRatioFromRelHum(store - 273.15, 0.55, ATMOSPHERE)
    left = psychrolib.GetHumRatioFromRelHum(coil - 273.15, 1.0, ATMOSPHERE)
    volume = psychrolib.GetMoistAirVolume(store - 273.15, water, ATMOSPHERE)
    found = moisture_load(store, 0.55, coil, 30 * CFM, ATMOSPHERE)
    assert found == pytest.approx(30 * CFM / volume * (water - left), rel=1e-3)


def test_a_coil_above_the_dew_point_takes_nothing_out() -> None:
    assert moisture_load(kelvin(75), 0.3, kelvin(50), 30 * CFM, ATMOSPHERE) == 0.0


def test_a_coil_below_freezing_pays_for_freezing_too() -> None:
    # 1 g/s: 2,501 W to condense, 333.4 W more to freeze.
    assert moisture_heat(0.001, kelvin(40)) == pytest.approx(2501)
    assert moisture_heat(0.001, kelvin(20)) == pytest.approx(2834.4)


def test_the_rated_air_is_the_unit_of_comparison() -> None:
    rated = moisture_load_against(kelvin(75), 0.55, kelvin(75), 0.55, kelvin(20), ATMOSPHERE)
    assert rated == pytest.approx(1.0)


@given(st.floats(0.1, 0.9), st.floats(0.01, 0.1), st.floats(-30, 35))
def test_a_damper_store_never_loads_the_coil_less(
    humidity: float, more: float, coil: float
) -> None:
    dry = moisture_load(kelvin(75), humidity, kelvin(coil), 30 * CFM, ATMOSPHERE)
    damp = moisture_load(kelvin(75), humidity + more, kelvin(coil), 30 * CFM, ATMOSPHERE)
    assert 0 <= dry <= damp


@given(st.floats(0.2, 1.0), st.floats(-30, 60))
def test_a_colder_coil_never_takes_less_out(humidity: float, coil: float) -> None:
    warm = moisture_load(kelvin(75), humidity, kelvin(coil), 30 * CFM, ATMOSPHERE)
    cold = moisture_load(kelvin(75), humidity, kelvin(coil - 5), 30 * CFM, ATMOSPHERE)
    assert warm <= cold


def test_no_comparison_with_rated_air_that_leaves_nothing() -> None:
    with pytest.raises(OutOfRange, match="no moisture load"):
        moisture_load_against(kelvin(75), 0.55, kelvin(75), 0.2, kelvin(60), ATMOSPHERE)


@pytest.mark.parametrize("flow", [-1.0, math.nan, math.inf])
def test_an_air_flow_that_cannot_be_is_refused(flow: float) -> None:
    with pytest.raises(OutOfRange):
        moisture_load(kelvin(75), 0.55, kelvin(20), flow, ATMOSPHERE)


def test_altitude_changes_the_load_but_not_the_dew_point() -> None:
    high = Context(barometer=84_000.0)
    air = {"air_temperature": kelvin(75), "humidity": 0.55}
    dew = formula("store_dew_point")
    assert dew.compute(high, **air) == dew.compute(Context(), **air)
    ratio = formula("store_humidity_ratio")
    assert ratio.compute(high, **air) > ratio.compute(Context(), **air)


def test_a_surface_at_the_dew_point_has_no_sweat_margin() -> None:
    air = {"air_temperature": kelvin(75), "humidity": 0.55}
    dew = formula("store_dew_point").compute(Context(), **air)
    found = formula("surface_sweat_margin").compute(Context(), surface_temperature=dew, **air)
    assert found == 0.0


def test_frost_gathers_with_the_hours_between_defrosts() -> None:
    found = formula("frost_gathered").compute(Context(), moisture_load=1e-4, duration=6 * 3600.0)
    assert found == pytest.approx(2.16)
