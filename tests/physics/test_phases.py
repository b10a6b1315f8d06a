"""Three phases: what is worked out by hand at the contactor."""

from __future__ import annotations

import pytest

from expert.physics.electric.phases import from_reference, unbalance
from expert.physics.frame.physics_errors import PhysicsError


def test_the_unbalance_is_that_of_the_hand_example_in_the_rulebase() -> None:
    assert unbalance(480, 472, 466) == pytest.approx(7.3333 / 472.6667, rel=1e-4)
    assert unbalance(480, 480, 480) == 0


def test_the_order_of_the_phases_does_not_matter_and_the_scale_neither() -> None:
    assert unbalance(24, 16.2, 16) == pytest.approx(unbalance(160, 240, 162))


def test_an_average_below_the_plate_is_negative() -> None:
    assert from_reference(16.2, 24, 16, 24.7) == pytest.approx(-0.2416, abs=1e-4)
    assert from_reference(0, 0, 0, 24.7) == -1


def test_nothing_is_worked_out_of_zero() -> None:
    with pytest.raises(PhysicsError):
        unbalance(0, 0, 0)
    with pytest.raises(PhysicsError):
        from_reference(1, 1, 1, 0)
