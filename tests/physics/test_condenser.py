"""Expected condensing, and the check for non-condensables."""

from __future__ import annotations

import pytest
from check_values import cases, kelvin
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.cycle.condenser import Verdict, conductance, standing_pressure
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.frame.uncertainty import propagate
from expert.units.kinds import FAHRENHEIT, PSI

CASE = cases("low_and_high_side.yaml", "examples")["HX01"]
SEA = 14.696 * PSI
PURE, BLEND = Context("R-22", SEA), Context("R-407A", SEA)


def judge(context: Context, above: float, *, from_dew: bool = False) -> Verdict:
    """Verdict of a condenser at 80 F that stands `above` psi from bubble (or dew)."""
    fluid = saturation(str(context.refrigerant))
    line = fluid.dew_pressure if from_dew else fluid.bubble_pressure
    pressure = context.gauge(line(kelvin(80))) + above * PSI
    return standing_pressure(context, pressure, kelvin(80), PSI, 0.5).verdict


def test_the_condensing_temperature_of_a_worked_example() -> None:
    want, wanted = CASE["inputs"], CASE["expected"]
    per_kelvin = conductance(
        want["rating_kW"] * 1e3, want["condensing_C"] + 273.15, want["air_C"] + 273.15
    )
    assert per_kelvin / 1e3 == pytest.approx(wanted["kW_per_K"], rel=0.001)
    assert want["new_load_kW"] * 1e3 / per_kelvin == pytest.approx(wanted["new_difference_K"])
    found = CATALOG["expected_condensing_temperature"].compute(
        Context(),
        outdoor_temperature=want["new_air_C"] + 273.15,
        design_difference=float(want["condensing_C"] - want["air_C"]),
        load_share=want["new_load_kW"] / want["rating_kW"],
        floor=273.15,
    )
    assert found - 273.15 == pytest.approx(wanted["new_condensing_C"], rel=0.001)


def test_the_expected_condensing_temperature_stays_at_its_floor() -> None:
    found = CATALOG["expected_condensing_temperature"].compute(
        Context(),
        outdoor_temperature=kelvin(20),
        design_difference=8.0,
        load_share=1.0,
        floor=kelvin(70),
    )
    assert found == kelvin(70)


def test_the_expected_head_pressure_is_its_dew_pressure() -> None:
    found = CATALOG["expected_condensing_pressure"].compute(
        BLEND,
        outdoor_temperature=kelvin(90),
        design_difference=15 * FAHRENHEIT,
        load_share=1.0,
        floor=kelvin(70),
    )
    dew = saturation("R-407A").dew_pressure(kelvin(105))
    assert BLEND.absolute(found) == pytest.approx(dew, rel=1e-9)


def test_the_expected_head_pressure_carries_the_error_of_the_model() -> None:
    _, error = propagate(
        CATALOG["expected_condensing_pressure"],
        Context("R-454C", SEA),
        {
            "outdoor_temperature": kelvin(90),
            "design_difference": 8.0,
            "load_share": 1.0,
            "floor": kelvin(70),
        },
        {},
    )
    assert 2.5 < error / PSI < 5


def test_air_in_a_pure_refrigerant_is_found() -> None:
    assert judge(PURE, 10) is Verdict.NON_CONDENSABLES


def test_a_clean_pure_refrigerant_shows_none() -> None:
    assert judge(PURE, 0.5) is Verdict.NONE_SHOWN


def test_air_in_a_blend_is_found_above_the_bubble_pressure() -> None:
    assert judge(BLEND, 8) is Verdict.NON_CONDENSABLES


def test_a_blend_just_above_its_bubble_pressure_is_too_close_to_call() -> None:
    assert judge(BLEND, 0.5) is Verdict.TOO_CLOSE


def test_a_blend_between_dew_and_bubble_shows_none() -> None:
    assert judge(BLEND, -10) is Verdict.NONE_SHOWN


@pytest.mark.parametrize("context", [PURE, BLEND])
def test_a_pressure_below_dew_says_nothing_about_air(context: Context) -> None:
    assert judge(context, -15, from_dew=True) is Verdict.TOO_LOW


def test_every_verdict_has_a_sentence() -> None:
    pressure = PURE.gauge(saturation("R-22").dew_pressure(kelvin(80)))
    found = standing_pressure(PURE, pressure + 10 * PSI, kelvin(80), PSI, 0.5)
    assert "non-condensables" in found.text
    assert found.excess == pytest.approx(10 * PSI)


@given(st.floats(-20, 20), st.floats(-20, 20))
def test_more_pressure_never_makes_non_condensables_less_likely(one: float, other: float) -> None:
    order = [Verdict.TOO_LOW, Verdict.NONE_SHOWN, Verdict.TOO_CLOSE, Verdict.NON_CONDENSABLES]
    low, high = sorted((one, other))
    assert order.index(judge(BLEND, low)) <= order.index(judge(BLEND, high))


def test_a_condenser_colder_than_its_air_is_refused() -> None:
    with pytest.raises(PhysicsError, match="above the air"):
        conductance(12e3, kelvin(80), kelvin(90))


@pytest.mark.parametrize(("name", "value"), [("load_share", 3.0), ("design_difference", 0.0)])
def test_an_impossible_design_figure_is_refused(name: str, value: float) -> None:
    inputs = {
        "outdoor_temperature": kelvin(90),
        "design_difference": 8.0,
        "load_share": 1.0,
        "floor": kelvin(70),
        name: value,
    }
    with pytest.raises(OutOfRange):
        CATALOG["expected_condensing_temperature"].compute(Context(), **inputs)
