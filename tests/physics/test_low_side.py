"""Worked examples of the low side, and what must hold for any reading."""

from __future__ import annotations

import pytest
from check_values import cases, kelvin
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.air.barometer import barometer
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import CATALOG, warning
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import FAHRENHEIT, FOOT, PSI, Kind, units_of

EXAMPLES = cases("low_and_high_side.yaml", "examples")
SEA = 14.696 * PSI


def at_sea(name: str) -> Context:
    return Context(name, SEA)


def superheat_f(context: Context, psig: float, line_f: float) -> float:
    compute = CATALOG["superheat"].compute
    return compute(context, pressure=psig * PSI, line_temperature=kelvin(line_f)) / FAHRENHEIT


@pytest.mark.parametrize("identity", ["SH01", "SH02", "SH05", "SH07", "SH08"])
def test_superheat_of_a_worked_example(identity: str) -> None:
    case = EXAMPLES[identity]
    given_, expected = case["inputs"], case["expected"]
    found = superheat_f(at_sea(given_["refrigerant"]), given_["suction_psig"], given_["line_F"])
    assert found == pytest.approx(expected["superheat_F"], abs=case["tolerance_F"])


@pytest.mark.parametrize("identity", ["SH01", "SH02", "SH05", "SH08"])
def test_dew_temperature_of_a_worked_example(identity: str) -> None:
    case = EXAMPLES[identity]
    given_, expected = case["inputs"], case["expected"]
    wanted = expected.get("saturation_dew_F", expected.get("saturation_F"))
    found = CATALOG["dew_temperature"].compute(
        at_sea(given_["refrigerant"]), pressure=given_["suction_psig"] * PSI
    )
    assert found == pytest.approx(kelvin(wanted), abs=case["tolerance_F"] * FAHRENHEIT)


def test_superheat_is_on_the_dew_basis_and_not_on_the_bubble_basis() -> None:
    case = EXAMPLES["SH02"]
    context = at_sea("R-407A")
    wrong = kelvin(case["inputs"]["line_F"]) - CATALOG["bubble_temperature"].compute(
        context, pressure=case["inputs"]["suction_psig"] * PSI
    )
    assert wrong / FAHRENHEIT == pytest.approx(
        case["expected"]["wrong_if_bubble_is_used_F"], abs=case["tolerance_F"]
    )
    assert CATALOG["superheat"].basis == "dew"


def test_superheat_at_altitude_uses_the_local_barometer() -> None:
    case = EXAMPLES["SH06"]
    given_, expected = case["inputs"], case["expected"]
    local = Context("R-404A", barometer(given_["altitude_ft"] * FOOT))
    found = superheat_f(local, given_["suction_psig"], given_["line_F"])
    ignored = superheat_f(at_sea("R-404A"), given_["suction_psig"], given_["line_F"])
    assert found == pytest.approx(expected["superheat_5000ft_F"], abs=case["tolerance_F"])
    assert found - ignored == pytest.approx(
        expected["error_if_altitude_ignored_F"], abs=case["tolerance_F"]
    )


def test_superheat_below_zero_is_returned_with_a_warning_that_names_the_causes() -> None:
    case = EXAMPLES["SH07"]
    found = superheat_f(at_sea("R-404A"), case["inputs"]["suction_psig"], case["inputs"]["line_F"])
    assert found < 0
    text = warning("superheat", found)
    for cause in ("liquid at the sensor", "wrong sensor", "wrong refrigerant", "wrong barometer"):
        assert cause in text
    assert warning("superheat", 6.0) == ""


@pytest.mark.parametrize("number", [0, 1])
def test_superheat_of_co2_is_refused_where_no_saturation_exists(number: int) -> None:
    given_ = EXAMPLES["SH09"]["inputs"][number]
    psia = given_.get("suction_psia", given_.get("psia"))
    with pytest.raises(OutOfRange, match=("triple point", "critical pressure of 1070.0")[number]):
        superheat_f(at_sea("R-744"), psia - 14.696, 24)


def test_the_suction_set_point_is_dew_pressure_less_line_loss() -> None:
    case = EXAMPLES["SP01"]
    found = CATALOG["suction_set_point_design"].compute(
        at_sea("R-404A"),
        air_temperature=kelvin(30),
        coil_temperature_difference=10 * FAHRENHEIT,
        line_drop=case["inputs"]["line_loss_psi"] * PSI,
    )
    assert found / PSI == pytest.approx(
        case["expected"]["rack_set_point_psig"], abs=case["tolerance_psi"]
    )


def test_the_shortcut_takes_the_allowance_from_the_dew_pressure_of_the_case() -> None:
    case = EXAMPLES["SP02"]
    context = at_sea("R-407A")
    compute = CATALOG["suction_set_point_shortcut"].compute
    found = compute(context, case_temperature=kelvin(case["inputs"]["dew_F"]), allowance=0.0)
    assert found / PSI == pytest.approx(case["expected"]["psig"], abs=case["tolerance_psi"])
    lower = compute(context, case_temperature=kelvin(20), allowance=10 * PSI)
    assert found - lower == pytest.approx(10 * PSI)
    wrong = CATALOG["bubble_pressure"].compute(context, temperature=kelvin(20)) / PSI
    assert wrong == pytest.approx(
        case["expected"]["wrong_on_bubble_basis_psig"], abs=case["tolerance_psi"]
    )


def test_the_shortcut_on_the_mid_point_lies_above_dew_by_what_the_glide_makes() -> None:
    values = {"case_temperature": kelvin(24), "allowance": 10 * PSI}
    for name, apart in (("R-449A", (6.0, 7.2)), ("R-404A", (0.4, 0.9))):
        dew = CATALOG["suction_set_point_shortcut"].compute(at_sea(name), **values)
        mid = CATALOG["suction_set_point_shortcut_mid"].compute(at_sea(name), **values)
        assert apart[0] < (mid - dew) / PSI < apart[1]


def test_a_line_drop_is_given_as_a_fall_of_dew_temperature() -> None:
    case = EXAMPLES["SP04"]
    context = at_sea("R-404A")
    pressure = context.gauge(saturation("R-404A").dew_pressure(kelvin(case["inputs"]["dew_F"])))
    found = CATALOG["line_drop_temperature"].compute(
        context, pressure=pressure, drop=case["inputs"]["drop_psi"] * PSI
    )
    assert found / FAHRENHEIT == pytest.approx(case["expected"]["loss_F"], abs=case["tolerance_F"])


def test_coil_temperature_difference_is_air_less_dew() -> None:
    context = at_sea("R-449A")
    pressure = context.gauge(saturation("R-449A").dew_pressure(kelvin(-20)))
    found = CATALOG["coil_temperature_difference"].compute(
        context, air_temperature=kelvin(-8), pressure=pressure
    )
    assert found / FAHRENHEIT == pytest.approx(12)


def test_a_regulator_on_the_mid_point_basis_holds_a_blend_at_a_higher_pressure() -> None:
    context = at_sea("R-448A")
    dew = CATALOG["regulator_holding_pressure_dew"].compute(context, coil_temperature=kelvin(20))
    mid = CATALOG["regulator_holding_pressure_mid"].compute(context, coil_temperature=kelvin(20))
    bubble = CATALOG["bubble_pressure"].compute(context, temperature=kelvin(20))
    assert dew < mid < bubble
    assert saturation("R-448A").mid_temperature(context.absolute(mid)) == pytest.approx(kelvin(20))


def test_gas_in_the_coil_condenses_at_its_dew_temperature() -> None:
    context = at_sea("R-404A")
    found = CATALOG["gas_condensing_temperature"].compute(context, pressure=85.0 * PSI)
    assert found == saturation("R-404A").dew_temperature(context.absolute(85.0 * PSI))


def test_the_expansion_valve_drop_is_the_difference_of_the_pressures() -> None:
    compute = CATALOG["expansion_valve_pressure_drop"].compute
    found = compute(at_sea("R-22"), liquid_pressure=200 * PSI, evaporating_pressure=20 * PSI)
    assert found == pytest.approx(180 * PSI)


def test_a_gauge_below_perfect_vacuum_is_refused() -> None:
    compute = CATALOG["expansion_valve_pressure_drop"].compute
    with pytest.raises(OutOfRange, match="perfect vacuum"):
        compute(at_sea("R-22"), liquid_pressure=200 * PSI, evaporating_pressure=-15 * PSI)


def test_a_formula_that_needs_a_refrigerant_says_so() -> None:
    with pytest.raises(PhysicsError, match="refrigerant is not known"):
        superheat_f(Context(), 20, 30)


@given(
    st.sampled_from(["R-22", "R-404A", "R-449A", "R-455A", "R-744"]),
    st.floats(80, 200),
    st.floats(0, 60),
)
def test_superheat_is_the_same_typed_in_either_unit_system(
    name: str, psig: float, line: float
) -> None:
    units = {u.name: u for kind in (Kind.GAUGE_PRESSURE, Kind.TEMPERATURE) for u in units_of(kind)}
    bar = units["bar"].from_si(units["psig"].to_si(psig))
    celsius = units["C"].from_si(units["F"].to_si(line))
    compute, context = CATALOG["superheat"].compute, at_sea(name)
    american = compute(context, pressure=psig * PSI, line_temperature=kelvin(line))
    metric = compute(
        context, pressure=units["bar"].to_si(bar), line_temperature=units["C"].to_si(celsius)
    )
    assert american == pytest.approx(metric, abs=1e-9)


@given(st.floats(10, 100), st.floats(0.1, 5))
def test_more_line_drop_asks_for_a_lower_set_point(air_f: float, drop: float) -> None:
    compute = CATALOG["suction_set_point_design"].compute
    inputs = {"air_temperature": kelvin(air_f), "coil_temperature_difference": 5.0}
    none = compute(at_sea("R-448A"), **inputs, line_drop=0.0)
    some = compute(at_sea("R-448A"), **inputs, line_drop=drop * PSI)
    assert none - some == pytest.approx(drop * PSI)
