"""One set point over many circuits."""

from __future__ import annotations

import pytest
from check_values import kelvin
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.cycle.suction_group import (
    CircuitNeed,
    design_need,
    shortcut_need,
    suction_group,
)
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import FAHRENHEIT, PSI

CONTEXT = Context("R-448A", 14.696 * PSI)
NEEDS = st.lists(st.tuples(st.floats(-20, 30), st.floats(0, 4)), min_size=1, max_size=12)


def needs(pairs: list[tuple[float, float]]) -> list[CircuitNeed]:
    return [CircuitNeed(f"circuit {i}", kelvin(t), psi * PSI) for i, (t, psi) in enumerate(pairs)]


def test_the_coldest_circuit_governs_when_the_drops_are_equal() -> None:
    group = suction_group(
        CONTEXT, [CircuitNeed("meat", kelvin(20), PSI), CircuitNeed("fish", kelvin(15), PSI)]
    )
    assert group.governing == "fish"


def test_a_long_line_can_make_a_warmer_circuit_govern() -> None:
    group = suction_group(
        CONTEXT, [CircuitNeed("near", kelvin(18), PSI), CircuitNeed("far", kelvin(20), 6 * PSI)]
    )
    assert group.governing == "far"


def test_a_group_of_one_has_the_set_point_of_the_design_route() -> None:
    inputs = {
        "air_temperature": kelvin(28),
        "coil_temperature_difference": 10 * FAHRENHEIT,
        "line_drop": 2 * PSI,
    }
    group = suction_group(CONTEXT, [design_need("dairy", **inputs)])
    assert group.set_point == CATALOG["suction_set_point_design"].compute(CONTEXT, **inputs)


def test_a_group_of_one_has_the_set_point_of_the_shortcut() -> None:
    inputs = {"case_temperature": kelvin(28), "allowance": 10 * PSI}
    group = suction_group(CONTEXT, [shortcut_need("dairy", **inputs)])
    assert group.set_point == CATALOG["suction_set_point_shortcut"].compute(CONTEXT, **inputs)


@given(NEEDS)
def test_the_set_point_satisfies_every_circuit_and_one_has_no_margin(
    pairs: list[tuple[float, float]],
) -> None:
    group = suction_group(CONTEXT, needs(pairs))
    assert all(circuit.margin >= 0 for circuit in group.circuits)
    assert [c.name for c in group.circuits if c.governs] == [group.governing]
    assert min(circuit.margin for circuit in group.circuits) == 0.0
    assert all(c.set_point - group.set_point == pytest.approx(c.margin) for c in group.circuits)


@given(NEEDS)
def test_the_margin_in_temperature_is_what_an_unregulated_coil_would_be_colder(
    pairs: list[tuple[float, float]],
) -> None:
    fluid, asked = saturation("R-448A"), needs(pairs)
    group = suction_group(CONTEXT, asked)
    for need, circuit in zip(asked, group.circuits, strict=True):
        coil = fluid.dew_temperature(CONTEXT.absolute(group.set_point) + need.drop)
        assert circuit.margin_temperature == pytest.approx(need.evaporating - coil, abs=1e-9)
        assert circuit.margin_temperature > -1e-9


def test_a_group_without_circuits_is_refused() -> None:
    with pytest.raises(PhysicsError, match="no circuits"):
        suction_group(CONTEXT, [])
