"""The standard barometer against published tables."""

from __future__ import annotations

import math

import pytest
from check_values import cases
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.air.barometer import HIGHEST, LOWEST, barometer
from expert.physics.frame.physics_errors import OutOfRange
from expert.units.kinds import ATMOSPHERE, FOOT, PSI

EXAMPLES = cases("low_and_high_side.yaml", "examples")
AL01 = EXAMPLES["AL01"]
ROWS = list(zip(AL01["inputs"]["altitude_ft"], AL01["expected"]["psia"], strict=True))


@pytest.mark.parametrize(("feet", "psia"), ROWS)
def test_the_barometer_of_a_published_altitude(feet: float, psia: float) -> None:
    assert barometer(feet * FOOT) / PSI == pytest.approx(psia, abs=AL01["tolerance_psi"])


def test_the_barometer_at_5000_feet_from_a_refrigeration_text() -> None:
    case = EXAMPLES["AL04"]
    found = barometer(case["inputs"]["altitude_ft"] * FOOT) / PSI
    assert found == pytest.approx(case["expected"]["barometer_psia"], abs=case["tolerance_psi"])


def test_the_misprinted_row_at_4000_feet_is_not_met() -> None:
    case = EXAMPLES["AL02"]
    found = barometer(case["inputs"]["altitude_ft"] * FOOT) / PSI
    assert found == pytest.approx(case["expected"]["psia_formula"], abs=0.001)
    assert abs(found - case["expected"]["psia_printed"]) > 0.005


def test_sea_level_is_one_standard_atmosphere() -> None:
    assert barometer(0.0) == ATMOSPHERE


@given(st.floats(LOWEST, HIGHEST), st.floats(LOWEST, HIGHEST))
def test_higher_up_the_barometer_is_lower(one: float, other: float) -> None:
    low, high = sorted((one, other))
    if high - low > 1e-3:
        assert barometer(low) > barometer(high)


@pytest.mark.parametrize("altitude", [-5001.0, 11001.0, math.nan, math.inf])
def test_an_altitude_outside_the_troposphere_is_refused(altitude: float) -> None:
    with pytest.raises(OutOfRange, match="troposphere"):
        barometer(altitude)
