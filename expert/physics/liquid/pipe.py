"""Velocity and friction of a single phase in a pipe."""

from __future__ import annotations

import math

from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import Kind

DRAWN_TUBE = 1.5e-6  # m, roughness of drawn copper (Moody 1944)
# Pa s. Halocarbon vapour at suction is 0.9e-5 to 1.3e-5 (CoolProp 8: R-404A 1.09e-5 at 10 F dew);
# a viscosity 20 % off moves the drop by less than 4 %.
SUCTION_GAS_VISCOSITY = 1.1e-5


def velocity(mass_flow: float, density: float, diameter: float) -> float:
    """Mean velocity [m/s] of a flow [kg/s] of a density [kg/m3] in an inside diameter [m]."""
    for what, value in (("mass flow", mass_flow), ("density", density), ("diameter", diameter)):
        if not 0 < value < math.inf:
            raise PhysicsError(f"The {what} must be above zero.")
    return mass_flow / (density * math.pi / 4 * diameter**2)


def reynolds(mass_flow: float, diameter: float, viscosity: float) -> float:
    """Reynolds number of a flow [kg/s] in a diameter [m] with a viscosity [Pa s]."""
    return 4 * mass_flow / (math.pi * diameter * viscosity)


def friction_factor(reynolds_number: float, relative_roughness: float) -> float:
    """Darcy friction factor of turbulent flow (Colebrook 1939), solved by repetition.

    Raises `OutOfRange` below Re 4000 and above 1e8, or for a relative roughness above 0.05.
    """
    if not 4000 <= reynolds_number <= 1e8:
        raise OutOfRange(
            "The Reynolds number",
            reynolds_number,
            4000.0,
            1e8,
            Kind.RATIO,
            "the Colebrook equation is for turbulent flow",
        )
    if not 0 <= relative_roughness <= 0.05:
        raise OutOfRange("The relative roughness", relative_roughness, 0.0, 0.05, Kind.RATIO)
    root = 8.0  # 1 / sqrt(f)
    for _ in range(100):
        inside = relative_roughness / 3.7 + 2.51 * root / reynolds_number
        before, root = root, -2 * math.log10(inside)
        if abs(root - before) < 1e-13 * root:
            break
    return 1 / root**2


def pressure_drop(
    mass_flow: float, density: float, viscosity: float, diameter: float, length: float
) -> float:
    """Friction loss [Pa] over a length [m] of drawn tube (Darcy and Weisbach)."""
    speed = velocity(mass_flow, density, diameter)
    factor = friction_factor(reynolds(mass_flow, diameter, viscosity), DRAWN_TUBE / diameter)
    return factor * length / diameter * density * speed**2 / 2


def _velocity(context: Context, mass_flow: float, density: float, inside_diameter: float) -> float:
    return velocity(mass_flow, density, inside_diameter)


def _suction_drop(
    context: Context,
    mass_flow: float,
    density: float,
    inside_diameter: float,
    equivalent_length: float,
) -> float:
    return pressure_drop(
        mass_flow, density, SUCTION_GAS_VISCOSITY, inside_diameter, equivalent_length
    )


_FLOW = {"mass_flow": Kind.MASS_FLOW, "density": Kind.DENSITY, "inside_diameter": Kind.LENGTH}

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="pipe_velocity",
        title="velocity in a pipe",
        inputs=_FLOW,
        output=Kind.SPEED,
        text="mass flow / (density x pi/4 x inside diameter^2)",
        source="continuity",
        compute=_velocity,
        validity="inside diameter, not nominal size",
    ),
    Formula(
        name="suction_line_drop",
        title="friction loss of a suction line",
        inputs={**_FLOW, "equivalent_length": Kind.LENGTH},
        output=Kind.PRESSURE_DIFFERENCE,
        text="f x L/D x density x velocity^2 / 2, f by Colebrook (1939), drawn copper",
        source="Darcy and Weisbach; Colebrook (1939)",
        compute=_suction_drop,
        validity="gas without liquid or much oil, drop small against the pressure; good to 5 %",
    ),
)
