"""Errors of readings carried into derived values."""

from __future__ import annotations

import math

import pytest
from check_values import kelvin
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frame.uncertainty import propagate
from expert.units.kinds import FAHRENHEIT, PSI

SEA = 14.696 * PSI
READING = {"pressure": 30 * PSI, "line_temperature": kelvin(20)}


def test_the_uncertainty_of_superheat_is_that_of_its_slopes_and_the_model() -> None:
    context, fluid = Context("R-449A", SEA), saturation("R-449A")
    value, error = propagate(
        CATALOG["superheat"], context, READING, {"pressure": PSI, "line_temperature": 0.5}
    )
    dew = fluid.dew_temperature(30 * PSI + SEA)
    by_hand = math.hypot(PSI / fluid.dew_slope(dew), 0.5, refrigerant("R-449A").model_error)
    assert value == pytest.approx(kelvin(20) - dew)
    assert error == pytest.approx(by_hand, rel=0.002)


def test_exact_readings_leave_the_error_of_the_model() -> None:
    _, error = propagate(CATALOG["superheat"], Context("R-454C", SEA), READING, {})
    assert error == pytest.approx(1.1 * FAHRENHEIT)


def test_a_set_point_carries_the_model_as_a_pressure() -> None:
    context = Context("R-449A", SEA)
    inputs = {"case_temperature": kelvin(20), "allowance": 10 * PSI}
    _, error = propagate(CATALOG["suction_set_point_shortcut"], context, inputs, {})
    slope = saturation("R-449A").dew_slope(kelvin(20))
    assert error == pytest.approx(slope * 0.5 * FAHRENHEIT)


def test_a_plain_difference_adds_errors_in_quadrature() -> None:
    value, error = propagate(
        CATALOG["pressure_difference"],
        Context(),
        {"upper": 5e5, "lower": 2e5},
        {"upper": 3e3, "lower": 4e3},
    )
    assert (value, error) == pytest.approx((3e5, 5e3))


@pytest.mark.parametrize("side", ["low", "high"])
def test_a_reading_at_the_edge_of_the_range_still_has_an_uncertainty(side: str) -> None:
    context, fluid = Context("R-744", SEA), saturation("R-744")
    edge = getattr(fluid.dew_pressure_range, side)
    inside = 1.001 * edge if side == "low" else 0.999 * edge
    formula = CATALOG["dew_temperature"]
    _, error = propagate(formula, context, {"pressure": context.gauge(inside)}, {"pressure": 2e4})
    slope = fluid.dew_slope(fluid.dew_temperature(inside))
    plain = math.hypot(2e4 / slope, refrigerant("R-744").model_error)
    assert error == pytest.approx(plain, rel=0.05)


def test_an_error_wider_than_the_whole_range_is_scaled_from_a_smaller_step() -> None:
    context, fluid = Context("R-744", SEA), saturation("R-744")
    span = fluid.dew_pressure_range
    middle = (span.low + span.high) / 2
    _, error = propagate(
        CATALOG["dew_temperature"], context, {"pressure": context.gauge(middle)}, {"pressure": 1e7}
    )
    assert math.isfinite(error)
    assert error > 10


def test_a_reading_outside_the_range_is_refused() -> None:
    with pytest.raises(OutOfRange):
        propagate(CATALOG["dew_temperature"], Context("R-744"), {"pressure": 0.0}, {"pressure": 1})


@given(st.floats(1, 60), st.floats(0, 3), st.floats(0, 3))
def test_a_worse_instrument_never_gives_a_smaller_uncertainty(
    psig: float, one: float, other: float
) -> None:
    better, worse = sorted((one, other))
    values = {**READING, "pressure": psig * PSI}
    errors = [
        propagate(CATALOG["superheat"], Context("R-404A", SEA), values, {"pressure": e * PSI})[1]
        for e in (better, worse)
    ]
    assert errors[0] <= errors[1] + 1e-9
