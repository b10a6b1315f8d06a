"""The nitrogen standing test, ideal and real."""

from __future__ import annotations

import math

import pytest
from budget import examples
from check_values import CUBIC_FOOT, kelvin, service
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.fluids.coolprop_door import library
from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.tightness import nitrogen
from expert.physics.tightness.standing_test import (
    expected_pressure,
    expected_pressure_ideal,
    nitrogen_lost,
)
from expert.units.kinds import BAR, PSI

SEA_LEVEL = 14.696 * PSI
REAL = formula("nitrogen_expected_pressure")
IDEAL = formula("nitrogen_expected_pressure_ideal")


def expected_psig(
    one: Formula, start: float, start_temperature: float, end_temperature: float
) -> float:
    context = Context(barometer=SEA_LEVEL)
    return (
        one.compute(
            context,
            start_pressure=start * PSI,
            start_temperature=kelvin(start_temperature),
            end_temperature=kelvin(end_temperature),
        )
        / PSI
    )


@pytest.mark.parametrize("one", [REAL, IDEAL], ids=lambda one: one.name)
@pytest.mark.parametrize("identity", ["N201", "N202"])
def test_a_cooler_pipe_explains_the_fall_of_the_worked_example(identity: str, one: Formula) -> None:
    case = service(identity)
    given_ = case["inputs"]
    found = expected_psig(one, given_["start_psig"], given_["start_F"], given_["end_F"])
    assert found == pytest.approx(case["expected"]["expected_psig"], abs=case["tolerance_psi"])


def test_the_metric_worked_example_comes_out_by_the_gas_law() -> None:
    case = service("N203")
    start = (case["inputs"]["start_barg"] + 1) * BAR
    found = expected_pressure_ideal(start, 7 + 273, 18 + 273) / BAR - 1
    assert found == pytest.approx(case["expected"]["expected_barg"], abs=case["tolerance_bar"])


def test_at_high_pressure_the_gas_law_calls_a_tight_system_leaking() -> None:
    case = service("N206")
    expected = case["expected"]
    real, ideal = expected_psig(REAL, 600, 90, 60), expected_psig(IDEAL, 600, 90, 60)
    assert real == pytest.approx(expected["real_nitrogen_psig"], abs=case["tolerance_psi"])
    assert ideal == pytest.approx(expected["ideal_gas_psig"], abs=case["tolerance_psi"])
    assert ideal - real > 3


@pytest.mark.parametrize(
    ("start", "gap"), [(150, 0.23), (250, 0.59), (300, 0.83), (350, 1.11), (450, 1.79)]
)
def test_the_gas_law_is_off_by_the_published_table_for_thirty_degrees(
    start: float, gap: float
) -> None:
    # Gaps as listed in the note of check value N206.
    found = expected_psig(IDEAL, start, 90, 60) - expected_psig(REAL, start, 90, 60)
    assert found == pytest.approx(gap, abs=0.01)


@pytest.mark.parametrize("temperature", [233.15, 280.0, 300.0, 343.15])
@pytest.mark.parametrize("pressure", [1e5, 2e6, 5e6, 2e7])
def test_an_independent_library_finds_the_same_density(temperature: float, pressure: float) -> None:
    found = library().CoolProp.PropsSI("D", "P", pressure, "T", temperature, "Nitrogen")
    assert nitrogen.density(pressure, temperature) == pytest.approx(found, rel=1e-9)


@given(st.floats(2e5, 5e6), st.floats(250, 330), st.floats(250, 330))
@settings(max_examples=examples(50))
def test_there_and_back_again_is_the_start(pressure: float, start: float, end: float) -> None:
    there = expected_pressure(pressure, start, end)
    assert expected_pressure(there, end, start) == pytest.approx(pressure, rel=1e-9)


@given(st.floats(2e5, 5e6), st.floats(250, 330), st.floats(1, 10))
@settings(max_examples=examples(50))
def test_a_warmer_end_never_means_a_lower_pressure(
    pressure: float, start: float, step: float
) -> None:
    assert expected_pressure(pressure, start, start + step) > pressure


def test_a_tight_section_has_no_unexplained_fall() -> None:
    end = expected_psig(REAL, 300, 80, 60)
    found = formula("nitrogen_unexplained_fall").compute(
        Context(barometer=SEA_LEVEL),
        start_pressure=300 * PSI,
        start_temperature=kelvin(80),
        end_pressure=end * PSI,
        end_temperature=kelvin(60),
    )
    assert found == pytest.approx(0, abs=1e-3)


def test_the_unexplained_share_is_of_the_absolute_start_pressure() -> None:
    # 300 psig at 80 F, 287.8 psig at 60 F: about 288.3 expected by the gas law, 0.16 % unexplained
    # (hand calculation); 0.55 psi less expected for real nitrogen.
    found = formula("nitrogen_unexplained_share").compute(
        Context(barometer=SEA_LEVEL),
        start_pressure=300 * PSI,
        start_temperature=kelvin(80),
        end_pressure=287.8 * PSI,
        end_temperature=kelvin(60),
    )
    assert found == pytest.approx(0.0016 - 0.55 / 314.7, abs=0.0003)


def test_a_fall_at_one_temperature_is_all_unexplained() -> None:
    # 2 psi of 164.696 psia.
    found = formula("nitrogen_unexplained_share").compute(
        Context(barometer=SEA_LEVEL),
        start_pressure=150 * PSI,
        start_temperature=kelvin(70),
        end_pressure=148 * PSI,
        end_temperature=kelvin(70),
    )
    assert found == pytest.approx(2 / 164.696, rel=1e-6)


def test_a_leak_is_the_mass_that_left_over_the_time() -> None:
    # 10 ft3 that lose 1 psi at 75 F lose 10 ft3 x 1 psi / (R T) of nitrogen: 22 g, by hand.
    volume, temperature = 10 * CUBIC_FOOT, kelvin(75)
    lost = nitrogen_lost(volume, 151 * PSI, temperature, 150 * PSI, temperature)
    assert lost == pytest.approx(volume * PSI / (296.8 * temperature), rel=0.01)
    flow = formula("nitrogen_leak_flow").compute(
        Context(barometer=0.0),
        volume=volume,
        duration=86400.0,
        start_pressure=151 * PSI,
        start_temperature=temperature,
        end_pressure=150 * PSI,
        end_temperature=temperature,
    )
    assert flow == pytest.approx(lost / 86400)


def test_a_rise_is_a_negative_fall_not_an_error() -> None:
    found = formula("nitrogen_unexplained_fall").compute(
        Context(barometer=SEA_LEVEL),
        start_pressure=150 * PSI,
        start_temperature=kelvin(70),
        end_pressure=152 * PSI,
        end_temperature=kelvin(70),
    )
    assert found == pytest.approx(-2 * PSI)


@pytest.mark.parametrize("pressure", [-5.0, 0.0, 5e7, math.nan])
def test_a_pressure_no_test_has_is_refused(pressure: float) -> None:
    with pytest.raises(OutOfRange):
        expected_pressure(pressure, 290, 300)
    with pytest.raises(OutOfRange):
        expected_pressure_ideal(pressure, 290, 300)


@pytest.mark.parametrize("temperature", [200.0, 400.0, math.nan])
def test_a_temperature_no_pipe_has_is_refused(temperature: float) -> None:
    with pytest.raises(OutOfRange):
        expected_pressure(1e6, 290, temperature)
    with pytest.raises(OutOfRange):
        expected_pressure_ideal(1e6, temperature, 290)
