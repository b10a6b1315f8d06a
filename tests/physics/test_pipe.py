"""Velocity and friction in pipes against worked examples."""

from __future__ import annotations

import math

import pytest
from check_values import INCH, cases

from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.liquid import pipe
from expert.units.kinds import FOOT, POUND, PSI

EXAMPLES = cases("low_and_high_side.yaml", "examples")
PIPES = ["PI01", "PI02"]
FPM = FOOT / 60


def flow(identity: str) -> tuple[float, float, float, float, float]:
    want = EXAMPLES[identity]["inputs"]
    return (
        want["lb_per_h"] * POUND / 3600,
        want["density_kg_m3"],
        want["viscosity_Pa_s"],
        want["inside_diameter_in"] * INCH,
        want["length_ft"] * FOOT,
    )


@pytest.mark.parametrize("identity", PIPES)
def test_velocity_and_friction_of_a_worked_example(identity: str) -> None:
    mass, density, viscosity, diameter, length = flow(identity)
    wanted = EXAMPLES[identity]["expected"]
    number = pipe.reynolds(mass, diameter, viscosity)
    factor = pipe.friction_factor(number, pipe.DRAWN_TUBE / diameter)
    drop = pipe.pressure_drop(mass, density, viscosity, diameter, length)
    assert pipe.velocity(mass, density, diameter) / FPM == pytest.approx(
        wanted["velocity_fpm"], rel=0.01
    )
    assert number == pytest.approx(wanted["Reynolds"], rel=0.01)
    assert factor == pytest.approx(wanted["friction_factor_Darcy"], rel=0.01)
    assert drop / PSI == pytest.approx(wanted["drop_psi"], rel=0.02)


@pytest.mark.parametrize("identity", PIPES)
def test_the_suction_line_formula_is_good_to_five_per_cent(identity: str) -> None:
    mass, density, _, diameter, length = flow(identity)
    found = CATALOG["suction_line_drop"].compute(
        Context(),
        mass_flow=mass,
        density=density,
        inside_diameter=diameter,
        equivalent_length=length,
    )
    assert found / PSI == pytest.approx(EXAMPLES[identity]["expected"]["drop_psi"], rel=0.05)


@pytest.mark.parametrize("identity", PIPES)
def test_the_velocity_lies_in_the_published_suction_band(identity: str) -> None:
    low, high = map(float, EXAMPLES["PI04"]["expected"]["fpm"][0].split(" to "))
    mass, density, _, diameter, _ = flow(identity)
    found = CATALOG["pipe_velocity"].compute(
        Context(), mass_flow=mass, density=density, inside_diameter=diameter
    )
    assert low <= found / FPM <= high


@pytest.mark.parametrize(("number", "rough"), [(1e5, 0.0), (1e7, 1e-3), (4000.0, 0.05)])
def test_the_friction_factor_solves_the_colebrook_equation(number: float, rough: float) -> None:
    root = 1 / math.sqrt(pipe.friction_factor(number, rough))
    assert root == pytest.approx(-2 * math.log10(rough / 3.7 + 2.51 * root / number), rel=1e-10)


@pytest.mark.parametrize("number", [3000.0, 1e9, math.nan])
def test_flow_that_is_not_turbulent_is_refused(number: float) -> None:
    with pytest.raises(OutOfRange, match="Reynolds"):
        pipe.friction_factor(number, 1e-5)


@pytest.mark.parametrize("flow_rate", [0.0, -1.0, math.nan, math.inf])
def test_a_flow_that_is_not_above_zero_is_refused(flow_rate: float) -> None:
    with pytest.raises(PhysicsError, match="mass flow"):
        pipe.velocity(flow_rate, 20.0, 0.04)
