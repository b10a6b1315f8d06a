"""Worked examples of subcooling and compression ratio, plain differences."""

from __future__ import annotations

import pytest
from check_values import cases, kelvin

from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import CATALOG, warning
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import FAHRENHEIT, INHG, PSI, Kind, units_of

EXAMPLES = cases("low_and_high_side.yaml", "examples")
SEA = 14.696 * PSI


@pytest.mark.parametrize("identity", ["SC01", "SC03"])
def test_subcooling_of_a_worked_example(identity: str) -> None:
    case = EXAMPLES[identity]
    given = case["inputs"]
    found = CATALOG["subcooling"].compute(
        Context(given["refrigerant"], SEA),
        pressure=given["liquid_psig"] * PSI,
        line_temperature=kelvin(given["line_F"]),
    )
    assert found / FAHRENHEIT == pytest.approx(
        case["expected"]["subcooling_F"], abs=case["tolerance_F"]
    )


def test_subcooling_is_on_the_bubble_basis_and_not_on_the_dew_basis() -> None:
    case = EXAMPLES["SC01"]
    pressure = case["inputs"]["liquid_psig"] * PSI
    dew = saturation("R-407A").dew_temperature(pressure + SEA)
    wrong = (dew - kelvin(case["inputs"]["line_F"])) / FAHRENHEIT
    assert wrong == pytest.approx(case["expected"]["wrong_if_dew_is_used_F"], abs=0.2)
    assert CATALOG["subcooling"].basis == "bubble"


def test_subcooling_below_zero_is_returned_with_a_warning() -> None:
    found = CATALOG["subcooling"].compute(
        Context("R-22", SEA), pressure=207.792 * PSI, line_temperature=kelvin(106)
    )
    assert found / FAHRENHEIT == pytest.approx(-2.0, abs=0.2)
    assert "vapour in the liquid" in warning("subcooling", found)
    assert warning("subcooling", 1.0) == ""


def test_condenser_temperature_difference_is_dew_less_entering_air() -> None:
    context = Context("R-407A", SEA)
    found = CATALOG["condenser_temperature_difference"].compute(
        context,
        pressure=context.gauge(saturation("R-407A").dew_pressure(kelvin(105))),
        air_temperature=kelvin(95),
    )
    assert found / FAHRENHEIT == pytest.approx(10)
    assert "dew" in CATALOG["condenser_temperature_difference"].basis


def test_the_compression_ratio_is_on_absolute_pressures() -> None:
    case = EXAMPLES["CR01"]
    given, expected = case["inputs"], case["expected"]
    found = CATALOG["compression_ratio"].compute(
        Context(barometer=SEA),
        suction=given["suction_psig"] * PSI,
        discharge=given["discharge_psig"] * PSI,
    )
    assert found == pytest.approx(expected["ratio"], abs=case["tolerance"])
    assert abs(found - expected["wrong_on_gauge_values"]) > 5


def test_the_compression_ratio_with_suction_in_vacuum() -> None:
    case = EXAMPLES["CR03"]
    vacuum = next(u for u in units_of(Kind.GAUGE_PRESSURE) if u.factor == -INHG)
    suction = vacuum.to_si(case["inputs"]["suction_inHg_vacuum"])
    context = Context(barometer=SEA)
    found = CATALOG["compression_ratio"].compute(
        context, suction=suction, discharge=case["inputs"]["discharge_psig"] * PSI
    )
    assert context.absolute(suction) / PSI == pytest.approx(
        case["expected"]["suction_psia"], abs=0.005
    )
    assert found == pytest.approx(case["expected"]["ratio"], abs=case["tolerance"])


def test_the_compression_ratio_is_refused_below_perfect_vacuum() -> None:
    with pytest.raises(OutOfRange, match="perfect vacuum"):
        CATALOG["compression_ratio"].compute(
            Context(barometer=SEA), suction=-14.7 * PSI, discharge=180 * PSI
        )


@pytest.mark.parametrize("name", ["pressure_difference", "temperature_difference"])
def test_a_difference_is_upper_less_lower(name: str) -> None:
    assert CATALOG[name].compute(Context(), upper=307.0, lower=302.0) == 5.0


def test_a_time_difference_is_later_less_earlier() -> None:
    assert CATALOG["time_difference"].compute(Context(), later=90.0, earlier=30.0) == 60.0


def test_gauge_and_absolute_pressures_of_a_worked_example() -> None:
    case = EXAMPLES["UN01"]
    gauge = case["inputs"]["psig"] * PSI
    assert (gauge + SEA) / 1e3 == pytest.approx(case["expected"]["kPa_absolute"], abs=0.05)
    assert gauge / 1e5 == pytest.approx(case["expected"]["bar_gauge"], abs=0.00005)


def test_a_temperature_difference_has_no_32_in_it() -> None:
    case = EXAMPLES["UN02"]
    unit = next(u for u in units_of(Kind.TEMPERATURE_DIFFERENCE) if u.name == "F")
    found = unit.from_si(case["inputs"]["superheat_K"])
    assert found == pytest.approx(case["expected"]["superheat_F"])
    assert abs(found - case["expected"]["wrong"]) > 30
