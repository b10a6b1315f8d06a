"""Receiver geometry against textbook values, an independent library, and itself."""

from __future__ import annotations

import math

import pytest
from check_values import CUBIC_FOOT, INCH, service
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.liquid.receiver import FORMULAS, Heads, Position, Receiver, receiver

SHAPES = [(position, heads) for position in Position for heads in Heads]
vessels = st.builds(
    Receiver,
    st.sampled_from(Position),
    st.sampled_from(Heads),
    st.floats(0.1, 1.5),
    st.floats(0.2, 6.0),
)
shares = st.floats(0, 1)


def test_a_flat_horizontal_receiver_follows_the_circular_segment_table() -> None:
    case = service("RE01")
    vessel = Receiver(Position.HORIZONTAL, Heads.FLAT, 1.0, 1.0)
    for level, share in zip(
        case["inputs"]["h_over_D"], case["expected"]["volume_fraction"], strict=True
    ):
        assert vessel.volume_at(level) / vessel.volume == pytest.approx(
            share, abs=case["tolerance"]
        )


def test_a_level_of_three_eighths_is_not_three_eighths_of_the_volume() -> None:
    case = service("RE02")["expected"]
    vessel = Receiver(Position.HORIZONTAL, Heads.FLAT, 24 * INCH, 96 * INCH)
    assert vessel.volume / CUBIC_FOOT == pytest.approx(case["volume_ft3"], rel=0.001)
    liquid = vessel.volume_below(9 * INCH) / CUBIC_FOOT
    assert liquid == pytest.approx(case["liquid_ft3"], rel=0.001)
    assert vessel.volume_at(9 / 24) / vessel.volume == pytest.approx(case["fraction"], abs=0.0002)


def test_elliptical_heads_add_their_part_at_a_level() -> None:
    case = service("RE04")["expected"]
    headed = Receiver(Position.HORIZONTAL, Heads.ELLIPTICAL, 24 * INCH, 96 * INCH)
    flat = Receiver(Position.HORIZONTAL, Heads.FLAT, 24 * INCH, 96 * INCH)
    level = 9 * INCH
    heads = (headed.volume_below(level) - flat.volume_below(level)) / CUBIC_FOOT
    assert heads == pytest.approx(case["heads_only_ft3"], rel=0.001)
    assert headed.volume_below(level) / CUBIC_FOOT == pytest.approx(
        case["shell_plus_heads_liquid_ft3"], rel=0.001
    )
    assert headed.volume / CUBIC_FOOT == pytest.approx(case["full_ft3"], rel=0.001)


def test_a_flat_vertical_receiver_is_a_plain_cylinder() -> None:
    case = service("RE05")
    vessel = Receiver(Position.VERTICAL, Heads.FLAT, 16 * INCH, 60 * INCH)
    liquid = vessel.volume_below(30 * INCH) / CUBIC_FOOT
    assert liquid == pytest.approx(case["expected"]["liquid_ft3"], rel=0.001)
    pounds = liquid * case["inputs"]["density_lb_ft3"]
    assert pounds == pytest.approx(case["expected"]["liquid_lb"], rel=0.001)


def test_the_misprinted_tank_of_a_public_page_gives_the_right_figure() -> None:
    case = service("RE06")
    vessel = Receiver(Position.HORIZONTAL, Heads.FLAT, 1.0, 2.0)
    litres = vessel.volume_below(0.3) * 1000
    assert litres == pytest.approx(case["expected"]["litres"], abs=0.05)
    assert abs(litres - 451.3) > 50


@pytest.mark.parametrize(("position", "heads"), SHAPES)
@pytest.mark.parametrize("share", [0.02, 0.2, 0.5, 0.77, 0.99])
def test_an_independent_library_finds_the_same_volume(
    position: Position, heads: Heads, share: float
) -> None:
    fluids = pytest.importorskip("fluids")
    vessel = Receiver(position, heads, 0.6, 2.4)
    side = None if heads is Heads.FLAT else "ellipsoidal"
    depth = 0.0 if heads is Heads.FLAT else 0.15
    tank = fluids.TANK(
        D=0.6,
        L=2.4,
        horizontal=position is Position.HORIZONTAL,
        sideA=side,
        sideB=side,
        sideA_a=depth,
        sideB_a=depth,
    )
    assert vessel.volume_at(share) == pytest.approx(tank.V_from_h(share * vessel.height), rel=1e-9)


@given(vessels, shares)
def test_level_to_volume_and_back_is_the_same_level(vessel: Receiver, share: float) -> None:
    level = share * vessel.height
    volume = vessel.volume_below(level)
    assert vessel.volume_below(vessel.level_of(volume)) == pytest.approx(
        volume, rel=1e-9, abs=1e-12 * vessel.volume
    )


@given(vessels, shares, shares)
def test_a_higher_level_never_holds_less(vessel: Receiver, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert vessel.volume_at(low) <= vessel.volume_at(high) + 1e-12 * vessel.volume


@given(vessels, shares)
def test_what_is_below_and_above_a_level_is_the_whole(vessel: Receiver, share: float) -> None:
    mirrored = vessel.volume_at(1 - share)
    assert vessel.volume_at(share) + mirrored == pytest.approx(vessel.volume, rel=1e-9)


@given(vessels)
def test_empty_is_nothing_and_full_is_everything(vessel: Receiver) -> None:
    assert vessel.volume_at(0) == pytest.approx(0, abs=1e-12)
    assert vessel.volume_at(1) == pytest.approx(vessel.volume, rel=1e-12)


@pytest.mark.parametrize("level", [-0.01, 1.01, math.nan])
def test_a_level_outside_the_receiver_is_refused(level: float) -> None:
    with pytest.raises(OutOfRange):
        Receiver(Position.VERTICAL, Heads.ELLIPTICAL, 0.5, 2.0).volume_at(level)


def test_more_liquid_than_the_receiver_holds_is_refused() -> None:
    with pytest.raises(OutOfRange, match="holds no more"):
        Receiver(Position.VERTICAL, Heads.FLAT, 0.5, 2.0).level_of(1.0)


@pytest.mark.parametrize("size", [0.0, -1.0, math.nan, math.inf])
def test_a_size_that_cannot_be_is_refused(size: float) -> None:
    with pytest.raises(OutOfRange):
        Receiver(Position.VERTICAL, Heads.FLAT, size, 2.0)
    with pytest.raises(OutOfRange):
        Receiver(Position.VERTICAL, Heads.FLAT, 0.5, size)


def test_an_unknown_kind_of_head_is_refused_with_the_known_ones() -> None:
    with pytest.raises(PhysicsError, match="flat, elliptical"):
        receiver("horizontal", "dished", 0.5, 2.0)


def test_share_and_level_formulas_undo_each_other() -> None:
    found = {formula.name: formula for formula in FORMULAS}
    size = {"position": "vertical", "heads": "elliptical", "diameter": 0.5, "length": 1.5}
    share = found["receiver_volume_share"].compute(None, **size, level=0.1)
    assert found["receiver_level"].compute(None, **size, share=share) == pytest.approx(0.1)
