"""Properties that must hold for every refrigerant: round trips, order, refusal, no NaN."""

from __future__ import annotations

import math

import pytest
from budget import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.fluids.refrigerants import names, refrigerant
from expert.physics.fluids.saturation import Saturation, saturation
from expert.physics.frame.physics_errors import OutOfRange, UnknownRefrigerant
from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO, PSI

REFRIGERANTS = st.sampled_from(names())
SHARE = st.floats(0, 1)
# Pseudo-pure and azeotropic lines lie closer than the equations are accurate.
TOUCHING = {"R-507A", "R-513A", "R-515B"}


def kelvin(fahrenheit: float) -> float:
    return fahrenheit * FAHRENHEIT + FAHRENHEIT_ZERO


def between(low: float, high: float, share: float) -> float:
    return min(max(low + share * (high - low), low), high)


@given(REFRIGERANTS, SHARE)
def test_dew_temperature_gives_back_the_temperature_of_a_dew_pressure(name: str, x: float) -> None:
    fluid = saturation(name)
    t = between(fluid.dew_range.low, fluid.dew_range.high, x)
    p = fluid.dew_pressure(t)
    assert fluid.dew_temperature(clipped(p, fluid.dew_pressure_range)) == pytest.approx(t, abs=1e-8)


@given(REFRIGERANTS, SHARE)
def test_bubble_temperature_gives_back_the_temperature_of_a_bubble_pressure(
    name: str, x: float
) -> None:
    fluid = saturation(name)
    t = between(fluid.bubble_range.low, fluid.bubble_range.high, x)
    p = clipped(fluid.bubble_pressure(t), fluid.bubble_pressure_range)
    assert fluid.bubble_temperature(p) == pytest.approx(t, abs=1e-8)


@given(REFRIGERANTS, SHARE)
def test_mid_temperature_gives_back_the_temperature_of_a_mid_pressure(name: str, x: float) -> None:
    fluid = saturation(name)
    t = between(fluid.mid_range.low, fluid.mid_range.high, x)
    p = clipped(fluid.mid_pressure(t), fluid.mid_pressure_range)
    assert fluid.mid_temperature(p) == pytest.approx(t, abs=1e-7)


@given(REFRIGERANTS, SHARE, SHARE)
def test_a_warmer_dew_point_has_a_higher_pressure_and_denser_vapour(
    name: str, x: float, y: float
) -> None:
    fluid = saturation(name)
    low, high = fluid.dew_range.low, fluid.dew_range.high
    cold, warm = sorted((between(low, high, x), between(low, high, y)))
    if warm - cold > 1e-6:
        assert fluid.dew_pressure(cold) < fluid.dew_pressure(warm)
        assert fluid.vapour_density(cold) < fluid.vapour_density(warm)


@given(REFRIGERANTS, SHARE, SHARE)
def test_a_warmer_bubble_point_has_a_higher_pressure_and_lighter_liquid(
    name: str, x: float, y: float
) -> None:
    fluid = saturation(name)
    low, high = fluid.bubble_range.low, fluid.bubble_range.high
    cold, warm = sorted((between(low, high, x), between(low, high, y)))
    if warm - cold > 1e-6:
        assert fluid.bubble_pressure(cold) < fluid.bubble_pressure(warm)
        assert fluid.liquid_density(cold) > fluid.liquid_density(warm)


@given(REFRIGERANTS, SHARE)
def test_the_mid_point_lies_between_bubble_and_dew(name: str, x: float) -> None:
    fluid = saturation(name)
    p = between(fluid.mid_pressure_range.low, fluid.mid_pressure_range.high, x)
    bubble, dew = fluid.bubble_temperature(p), fluid.dew_temperature(p)
    slack = 0.01 if name in TOUCHING else 0.0
    assert bubble <= dew + slack
    assert fluid.mid_temperature(p) == pytest.approx((bubble + dew) / 2)
    assert fluid.glide(p) == pytest.approx(dew - bubble)


@given(REFRIGERANTS, st.floats(allow_nan=True, allow_infinity=True))
@settings(max_examples=examples(300))
def test_any_pressure_gives_a_temperature_in_range_or_a_refusal(name: str, p: float) -> None:
    fluid = saturation(name)
    for compute, span in (
        (fluid.dew_temperature, fluid.dew_range),
        (fluid.bubble_temperature, fluid.bubble_range),
    ):
        try:
            found = compute(p)
        except OutOfRange as error:
            assert p not in (fluid.dew_pressure_range.low, fluid.bubble_pressure_range.high)
            assert "must lie between" in str(error)
        else:
            assert math.isfinite(found)
            assert span.low - 1e-9 <= found <= span.high + 1e-9


@given(REFRIGERANTS, st.floats(allow_nan=True, allow_infinity=True))
@settings(max_examples=examples(300))
def test_any_temperature_gives_a_positive_value_or_a_refusal(name: str, t: float) -> None:
    fluid = saturation(name)
    for compute in (
        fluid.dew_pressure,
        fluid.bubble_pressure,
        fluid.mid_pressure,
        fluid.liquid_density,
        fluid.vapour_density,
    ):
        try:
            found = compute(t)
        except OutOfRange:
            continue
        assert math.isfinite(found)
        assert found > 0


@pytest.mark.parametrize("name", names())
def test_no_table_reaches_nine_tenths_of_the_critical_pressure_unless_its_equation_does(
    name: str,
) -> None:
    fluid = saturation(name)
    highest = max(fluid.dew_pressure_range.high, fluid.bubble_pressure_range.high)
    if refrigerant(name).to_critical:
        assert 0.999 < highest / fluid.critical_pressure < 1
        return
    assert 0.84 < highest / fluid.critical_pressure < 0.9
    assert fluid.bubble_range.high <= fluid.critical_temperature - 9.99 * FAHRENHEIT


@pytest.mark.parametrize("name", names())
def test_every_curve_is_monotonic_in_every_interval(name: str) -> None:
    fluid = saturation(name)
    curves = (fluid._dew, fluid._bubble, fluid._liquid, fluid._vapour)
    assert all(curve.is_monotonic() for curve in curves)


@pytest.mark.parametrize("name", names())
def test_every_table_but_that_of_co2_begins_at_minus_80_f(name: str) -> None:
    lowest = saturation(name).dew_range.low
    assert lowest == pytest.approx(216.592 if name == "R-744" else kelvin(-80), abs=1e-4)


@pytest.mark.parametrize("name", names())
def test_the_slopes_are_those_of_the_lines(name: str) -> None:
    fluid = saturation(name)
    t, step = kelvin(30), 0.01
    for line, slope in (
        (fluid.dew_pressure, fluid.dew_slope),
        (fluid.bubble_pressure, fluid.bubble_slope),
        (fluid.mid_pressure, fluid.mid_slope),
    ):
        difference = (line(t + step) - line(t - step)) / (2 * step)
        assert slope(t) == pytest.approx(difference, rel=1e-5)


@pytest.mark.parametrize("spelling", ["R-448A", "R448A", "448a", "r448a", "r 448-A", " R-448a "])
def test_a_name_is_found_however_it_is_spelt(spelling: str) -> None:
    assert saturation(spelling).refrigerant == "R-448A"


@pytest.mark.parametrize(
    ("alias", "name"),
    [("CO2", "R-744"), ("ammonia", "R-717"), ("propane", "R-290"), ("1234ze", "R-1234ze(E)")],
)
def test_a_chemical_name_is_understood(alias: str, name: str) -> None:
    assert saturation(alias) is saturation(name)


def test_an_unknown_refrigerant_is_refused_and_its_letter_asked_for() -> None:
    with pytest.raises(UnknownRefrigerant, match="Its letter is lacking: R-449A or R-449B"):
        saturation("R-449")


@pytest.mark.parametrize(
    ("psia", "why"),
    [
        (60, "below the triple point no liquid exists"),
        (1150, r"above the critical pressure of 1070\.0 psia"),
        (1069.8, "close to the critical point"),
    ],
)
def test_co2_is_refused_where_it_has_no_saturation(psia: float, why: str) -> None:
    with pytest.raises(OutOfRange, match=why):
        saturation("R-744").dew_temperature(psia * PSI)


def test_the_refusal_gives_the_range_in_both_unit_systems() -> None:
    with pytest.raises(OutOfRange) as caught:
        saturation("R-744").dew_temperature(60 * PSI)
    text = str(caught.value)
    assert "60.0 psia (4.14 bara)" in text
    assert "between 75.1 and 1069.6 psia (5.18 and 73.74 bara)" in text
    with pytest.raises(OutOfRange, match=r"F \(.* C\)"):
        saturation("R-744").dew_pressure(kelvin(-75))


def test_not_a_number_is_called_that() -> None:
    with pytest.raises(OutOfRange, match="not a number"):
        saturation("R-22").dew_temperature(float("nan"))


def test_r407f_has_a_bubble_point_all_through_summer() -> None:
    fluid = saturation("R-407F")
    pressures = [fluid.bubble_pressure(kelvin(f)) for f in range(110, 150)]
    steps = [b / a for a, b in zip(pressures, pressures[1:], strict=False)]
    # The relative step shrinks smoothly; a hole filled badly would show as a kink.
    changes = [b - a for a, b in zip(steps, steps[1:], strict=False)]
    assert all(-2e-4 < change < 0 for change in changes)


def clipped(pressure: float, span: object) -> float:
    """A pressure of the very end of a line may miss the end by the last bit."""
    return min(max(pressure, span.low), span.high)  # type: ignore[attr-defined]


def test_saturation_is_read_once() -> None:
    assert isinstance(saturation("R-22"), Saturation)
    assert saturation("R-22") is saturation("r22")
