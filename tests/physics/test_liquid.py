"""Lift, line drop, flash gas and the drier."""

from __future__ import annotations

import pytest
from check_values import fahrenheit, kelvin, service
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.fluids.coolprop_door import library, state
from expert.physics.fluids.flash import flash
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.liquid.liquid_line import drier_temperature_drop, lift_loss
from expert.units.kinds import FOOT, PSI

R404A = Context("R-404A")


def test_a_liquid_riser_loses_what_its_column_weighs() -> None:
    case = service("PI05")
    loss = lift_loss("R-404A", kelvin(96.8), 20 * FOOT)
    assert loss / PSI == pytest.approx(case["expected"]["psi"], rel=0.003)
    assert loss / PSI / 20 == pytest.approx(case["expected"]["psi_per_ft"], rel=0.003)


def test_thirty_feet_of_lift_leave_little_of_six_degrees_of_subcooling() -> None:
    # 204.5 psig, 84 F, 30 ft of R-404A: 13.1 psi of lift, 1.6 F left; worked out by hand.
    line = {
        "pressure": 204.5 * PSI,
        "liquid_temperature": kelvin(84),
        "lift": 30 * FOOT,
        "line_drop": 0.0,
    }
    lift = formula("liquid_line_lift_loss").compute(
        R404A, liquid_temperature=kelvin(84), lift=30 * FOOT
    )
    left = formula("valve_inlet_subcooling").compute(R404A, **line)
    assert lift / PSI == pytest.approx(13.1, abs=0.4)
    assert left * 1.8 == pytest.approx(1.6, abs=0.4)


def test_valve_inlet_pressure_is_what_lift_and_line_leave() -> None:
    found = formula("valve_inlet_pressure").compute(
        R404A, pressure=200 * PSI, liquid_temperature=kelvin(84), lift=0.0, line_drop=6 * PSI
    )
    assert found / PSI == pytest.approx(194)


def test_there_is_no_flash_gas_while_subcooling_is_left() -> None:
    found = formula("flash_gas").compute(
        R404A, pressure=204.5 * PSI, liquid_temperature=kelvin(84), lift=0.0, line_drop=3 * PSI
    )
    assert found == 0.0


def test_flash_gas_of_a_pure_fluid_keeps_its_enthalpy() -> None:
    coolprop = library()
    one = state("R-22")
    one.update(coolprop.QT_INPUTS, 0, kelvin(90))
    enthalpy = one.hmass()
    pressure = saturation("R-22").bubble_pressure(kelvin(80))
    one.update(coolprop.HmassP_INPUTS, enthalpy, pressure)
    quality, density = one.Q(), one.rhomass()
    found = flash("R-22", kelvin(90), pressure)
    gas = saturation("R-22").vapour_density(kelvin(80))
    assert found.mass_share == pytest.approx(quality, rel=1e-4)
    assert found.volume_share == pytest.approx(quality * density / gas, rel=1e-4)


@pytest.mark.parametrize("refrigerant", ["R-449A", "R-454C", "R-455A", "R-407A"])
def test_flash_gas_of_a_blend_balances_mass_enthalpy_and_volume(refrigerant: str) -> None:
    coolprop = library()
    fluid = saturation(refrigerant)
    pressure = fluid.bubble_pressure(kelvin(78))
    found = flash(refrigerant, kelvin(90), pressure)
    one = state(refrigerant)
    one.update(coolprop.PQ_INPUTS, pressure, 0.0)
    weights = [coolprop.CoolProp.PropsSI("M", part) for part in one.fluid_names()]
    feed = sum(a * b for a, b in zip(one.get_mole_fractions(), weights, strict=True))
    wanted = _liquid_enthalpy(refrigerant, kelvin(90))
    low, high = 0.0, 0.5
    for _ in range(60):
        middle = (low + high) / 2
        one.update(coolprop.PQ_INPUTS, pressure, middle)
        low, high = (middle, high) if one.hmass() < wanted else (low, middle)
    gas = sum(a * b for a, b in zip(one.mole_fractions_vapor(), weights, strict=True))
    assert found.mass_share == pytest.approx(middle * gas / feed, rel=1e-3)
    assert found.volume_share > 5 * found.mass_share


def _liquid_enthalpy(refrigerant: str, temperature: float) -> float:
    one = state(refrigerant)
    one.update(library().QT_INPUTS, 0.0, temperature)
    return float(one.hmass())


def test_flash_gas_is_found_where_the_library_finds_no_equilibrium() -> None:
    fluid = saturation("R-407F")
    pressure = fluid.bubble_pressure(kelvin(130))
    one = state("R-407F")
    with pytest.raises(ValueError, match="unable to find"):
        one.update(library().PQ_INPUTS, pressure, 0.0)
    assert 0 < flash("R-407F", kelvin(135), pressure).mass_share < 0.1


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(["R-404A", "R-449A", "R-22"]), st.floats(60, 110), st.floats(0.1, 30))
def test_a_lower_pressure_never_makes_less_flash_gas(
    refrigerant: str, liquid: float, drop: float
) -> None:
    fluid = saturation(refrigerant)
    start = fluid.bubble_pressure(kelvin(liquid))
    little = flash(refrigerant, kelvin(liquid), start - drop * PSI)
    much = flash(refrigerant, kelvin(liquid), start - (drop + 5) * PSI)
    assert 0 < little.mass_share < much.mass_share < 1
    assert little.volume_share < much.volume_share < 1


def test_a_drier_hides_its_drop_until_the_subcooling_is_used_up() -> None:
    fluid = saturation("R-404A")
    temperature, pressure = kelvin(84), 204.5 * PSI + 14.696 * PSI
    hidden = pressure - fluid.bubble_pressure(temperature)
    assert drier_temperature_drop("R-404A", pressure, hidden * 0.99, temperature) == 0.0
    assert drier_temperature_drop("R-404A", pressure, hidden * 1.2, temperature) > 0.0
    shown = formula("drier_hidden_pressure_drop").compute(
        Context("R-404A", 14.696 * PSI), pressure=204.5 * PSI, liquid_temperature=temperature
    )
    assert shown == pytest.approx(hidden)


def test_a_drier_drop_of_saturated_liquid_shows_all_of_its_saturation_drop() -> None:
    fluid = saturation("R-449A")
    pressure = fluid.bubble_pressure(kelvin(90))
    seen = drier_temperature_drop("R-449A", pressure, 10 * PSI, kelvin(90))
    after = fahrenheit(fluid.bubble_temperature(pressure - 10 * PSI))
    assert seen * 1.8 == pytest.approx(90 - after)
    told = formula("drier_saturation_drop").compute(
        Context("R-449A", 0.0), pressure=pressure, drop=10 * PSI
    )
    assert told == pytest.approx(seen)


@pytest.mark.parametrize("drop", [-1.0, 1e7])
def test_a_drop_below_zero_or_above_the_pressure_is_refused(drop: float) -> None:
    with pytest.raises(OutOfRange):
        drier_temperature_drop("R-404A", 15e5, drop, kelvin(80))


def test_a_lift_higher_than_any_store_is_refused() -> None:
    with pytest.raises(OutOfRange):
        lift_loss("R-404A", kelvin(80), 500.0)
