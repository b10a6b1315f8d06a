"""Heat of frost and coil."""

from __future__ import annotations

import math

import pytest
from check_values import kelvin, service
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frost.heat import LATENT_HEAT, SPECIFIC_HEAT, coil_heat, frost_heat
from expert.units.kinds import BTU, FAHRENHEIT, POUND, Kind, units_of

BTU_PER_LB = BTU / POUND
BTU_PER_LB_F = BTU_PER_LB / FAHRENHEIT


def test_warming_and_melting_ice_comes_in_the_three_parts_of_the_worked_example() -> None:
    case = service("IC01")
    given_ = case["inputs"]
    found = frost_heat(
        given_["lb"] * POUND,
        kelvin(given_["from_F"]),
        kelvin(given_["to_water_F"]),
        {"ice": given_["c_ice"] * BTU_PER_LB_F, "water": BTU_PER_LB_F},
        given_["latent_Btu_lb"] * BTU_PER_LB,
    )
    parts = [part / BTU for part in (found.ice, found.melting, found.water)]
    assert parts == pytest.approx(case["expected"]["parts_Btu"], rel=0.001)
    assert found.total / BTU == pytest.approx(case["expected"]["total_Btu"], rel=0.001)


def test_our_own_constants_stay_close_to_the_worked_example() -> None:
    found = frost_heat(25 * POUND, kelvin(5), kelvin(40)).total / BTU
    assert found == pytest.approx(service("IC01")["expected"]["total_Btu"], rel=0.01)


def test_latent_heat_converts_between_units() -> None:
    case = service("IC03")
    unit = next(one for one in units_of(Kind.SPECIFIC_ENERGY) if one.name == "Btu/lb")
    found = unit.from_si(case["inputs"]["kJ_kg"] * 1000)
    assert found == pytest.approx(case["expected"]["Btu_lb"], abs=case["tolerance"])
    assert pytest.approx(case["inputs"]["kJ_kg"] * 1000, rel=0.001) == LATENT_HEAT


def test_heating_water_to_the_boil_takes_the_heat_of_the_textbook() -> None:
    case = service("IC04")
    given_ = case["inputs"]
    heats = {"ice": 1.0, "water": given_["cp"] * 1000}
    warm = frost_heat(given_["kg"], kelvin(32), given_["from_C"] + 273.15, heats).water
    hot = frost_heat(given_["kg"], kelvin(32), 373.15, heats).water
    total = hot - warm + given_["kg"] * given_["hfg"] * 1000
    assert total / 1000 == pytest.approx(case["expected"]["kJ"], rel=0.001)


def test_heats_of_ice_and_water_are_those_of_an_independent_library() -> None:
    iapws = pytest.importorskip("iapws._iapws")
    ice = [iapws._Ice(temperature, 0.101325)["h"] for temperature in (243.15, 273.15)]
    assert (ice[1] - ice[0]) / 30 * 1000 == pytest.approx(SPECIFIC_HEAT["ice"], rel=0.005)
    melting = iapws._Liquid(273.15)["h"] - ice[1]
    assert melting * 1000 == pytest.approx(LATENT_HEAT, rel=0.0005)


def test_coil_metal_takes_its_mass_times_specific_heat() -> None:
    # 10 kg copper and 5 kg aluminium by 40 K: (10 x 385 + 5 x 903) x 40 = 334,600 J, by hand.
    found = coil_heat({"copper": 10, "aluminium": 5, "steel": 0}, 250, 290)
    assert found == pytest.approx(334_600)


def test_the_coil_formula_adds_metal_and_frost() -> None:
    start, end = kelvin(-10), kelvin(50)
    found = formula("coil_defrost_heat").compute(
        Context(),
        copper=10.0,
        aluminium=5.0,
        steel=2.0,
        frost=8.0,
        start_temperature=start,
        end_temperature=end,
    )
    metal = coil_heat({"copper": 10, "aluminium": 5, "steel": 2}, start, end)
    assert found == pytest.approx(metal + frost_heat(8.0, start, end).total)


@given(st.floats(0.1, 100), st.floats(kelvin(-40), kelvin(31)), st.floats(kelvin(33), kelvin(90)))
def test_more_frost_and_colder_frost_take_more_heat(frost: float, start: float, end: float) -> None:
    here = frost_heat(frost, start, end).total
    assert frost_heat(frost * 1.5, start, end).total > here
    assert frost_heat(frost, start - 1, end).total > here
    assert here > frost * LATENT_HEAT


@pytest.mark.parametrize(
    ("frost", "start", "end"),
    [(-1, 260, 280), (1, 275, 280), (1, 260, 270), (math.nan, 260, 280), (1, math.nan, 280)],
)
def test_frost_that_cannot_be_is_refused(frost: float, start: float, end: float) -> None:
    with pytest.raises(OutOfRange):
        frost_heat(frost, start, end)


def test_a_coil_that_would_cool_is_refused() -> None:
    with pytest.raises(OutOfRange, match="warms the coil"):
        coil_heat({"copper": 1}, 290, 280)


def test_water_to_the_drain_is_the_frost_over_the_time() -> None:
    found = formula("defrost_drain_flow").compute(Context(), frost=6.0, duration=600.0)
    assert found == pytest.approx(0.01)
