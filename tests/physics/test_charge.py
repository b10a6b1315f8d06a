"""Receiver contents and winter flooding."""

from __future__ import annotations

import pytest
from budget import examples
from check_values import INCH, kelvin, service
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.liquid.charge import (
    flooded_share,
    flooding_charge,
    level_after_charge,
    receiver_contents,
)
from expert.physics.liquid.receiver import Heads, Position, Receiver
from expert.units.kinds import POUND

VESSEL = Receiver(Position.HORIZONTAL, Heads.ELLIPTICAL, 0.5, 2.0)
SIZES = {"position": "horizontal", "heads": "elliptical", "diameter": 0.5, "length": 2.0}


def test_liquid_and_vapour_in_a_receiver_add_up_to_the_worked_example() -> None:
    case = service("RE02")
    vessel = Receiver(Position.HORIZONTAL, Heads.FLAT, 24 * INCH, 96 * INCH)
    contents = receiver_contents(vessel, 9 / 24, "R-404A", kelvin(86))
    assert contents.liquid / POUND == pytest.approx(case["expected"]["liquid_lb"], rel=0.003)
    assert contents.vapour / POUND == pytest.approx(case["expected"]["vapour_lb"], rel=0.003)


def test_a_pressure_above_the_liquids_own_makes_the_vapour_heavier() -> None:
    fluid = saturation("R-448A")
    at_rest = receiver_contents(VESSEL, 0.3, "R-448A", kelvin(85))
    pressed = receiver_contents(
        VESSEL, 0.3, "R-448A", kelvin(85), fluid.bubble_pressure(kelvin(95))
    )
    assert pressed.liquid == at_rest.liquid
    assert pressed.vapour > at_rest.vapour


def test_the_worked_example_of_winter_flooding_floods_five_sixths() -> None:
    # Technicians' rule, 90 F held at 0 F outdoors with a 15 F design difference: published as 83 %.
    share = flooded_share(15 / 1.8, kelvin(90), kelvin(0))
    assert share == pytest.approx(0.83, abs=0.005)


def test_winter_flooding_in_pounds_follows_volume_and_density() -> None:
    # 3 ft3 of R-404A at a mean of 45 F, 70 lb/ft3: 0.83 x 3 x 70 = 175 lb, computed by hand.
    mass = flooding_charge("R-404A", 0.8333, 3.0 * 0.3048**3, kelvin(90), kelvin(0))
    assert mass / POUND == pytest.approx(175, rel=0.01)


def test_less_load_floods_more_of_the_condenser() -> None:
    # 1 - 15 x 0.7 / 90 = 0.883, computed by hand.
    assert flooded_share(15 / 1.8, kelvin(90), kelvin(0), 0.7) == pytest.approx(0.883, abs=0.001)


def test_a_day_as_warm_as_the_design_needs_no_flooding() -> None:
    assert flooded_share(15 / 1.8, kelvin(90), kelvin(80)) == 0.0


@pytest.mark.parametrize("outdoor", [90.0, 95.0])
def test_flooding_for_an_outdoor_temperature_above_condensing_is_refused(outdoor: float) -> None:
    with pytest.raises(OutOfRange, match="at or below the outdoor temperature"):
        flooded_share(15 / 1.8, kelvin(90), kelvin(outdoor))


@given(st.floats(0.5, 30), st.floats(-40, 80), st.floats(0.1, 1.2))
def test_a_colder_day_never_floods_less(design: float, outdoor: float, load: float) -> None:
    held = kelvin(90)
    warmer = flooded_share(design, held, kelvin(outdoor), load)
    colder = flooded_share(design, held, kelvin(outdoor - 5), load)
    assert 0 <= warmer <= colder < 1


@settings(max_examples=examples(40))
@given(st.floats(0.05, 0.6), st.floats(0.0, 60.0), st.sampled_from(["R-404A", "R-449A", "R-290"]))
def test_a_charge_added_and_taken_out_again_leaves_the_level(
    level: float, mass: float, refrigerant: str
) -> None:
    temperature = kelvin(80)
    after = level_after_charge(VESSEL, level, refrigerant, temperature, mass)
    assert after >= level - 1e-12
    assert level_after_charge(VESSEL, after, refrigerant, temperature, -mass) == pytest.approx(
        level, abs=1e-9
    )


def test_a_charge_change_is_the_mass_that_level_after_charge_takes() -> None:
    context = Context("R-449A")
    temperature = kelvin(80)
    change = formula("receiver_charge_change").compute(
        context, **SIZES, level_before=0.2, level_after=0.35, liquid_temperature=temperature
    )
    after = formula("receiver_level_after_charge").compute(
        context, **SIZES, level=0.2, liquid_temperature=temperature, added=change
    )
    assert after == pytest.approx(0.35)


def test_a_charge_that_does_not_fit_is_refused() -> None:
    with pytest.raises(OutOfRange, match="holds no more"):
        level_after_charge(VESSEL, 0.7, "R-449A", kelvin(80), 500.0)


def test_a_receiver_hotter_than_the_refrigerant_allows_is_refused() -> None:
    with pytest.raises(OutOfRange):
        receiver_contents(VESSEL, 0.3, "R-744", kelvin(95))


def test_a_charge_without_a_refrigerant_is_refused() -> None:
    with pytest.raises(PhysicsError, match="refrigerant is not known"):
        formula("receiver_charge").compute(
            Context(), **SIZES, level=0.3, liquid_temperature=kelvin(80)
        )
