"""Velocity and friction of a single phase in a pipe.

Sources: continuity; Darcy and Weisbach; Colebrook (1939); CoolProp 8 equations of state (Bell et
al. 2014); definition.
"""

from __future__ import annotations

import math

from expert.physics.fluids.of_context import DEFINITION, TABLES, of
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.physics.frame.refusals import above_zero
from expert.units.kinds import Kind

DRAWN_TUBE = 1.5e-6  # m, roughness of drawn copper (Moody 1944)
# Pa s. Halocarbon vapour at suction is 0.9e-5 to 1.3e-5 (CoolProp 8: R-404A 1.09e-5 at 10 F dew);
# a viscosity 20 % off moves the drop by less than 4 %.
SUCTION_GAS_VISCOSITY = 1.1e-5
# Saturated liquid at 60 to 110 F has 0.7e-4 to 2.2e-4 (CoolProp 8: R-744 to R-134a), most blends
# 1.0e-4 to 1.7e-4; the outermost move the drop by 12 %.
LIQUID_VISCOSITY = 1.3e-4
LIQUID_MODEL = 0.12  # of the drop, from that


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


def _reynolds(
    context: Context, mass_flow: float, inside_diameter: float, viscosity: float
) -> float:
    for what, value, kind in (
        ("inside diameter", inside_diameter, Kind.LENGTH),
        ("viscosity", viscosity, Kind.VISCOSITY),
    ):
        above_zero(f"The {what}", value, kind)
    return reynolds(mass_flow, inside_diameter, viscosity)


def _liquid_drop(
    context: Context,
    mass_flow: float,
    liquid_temperature: float,
    inside_diameter: float,
    equivalent_length: float,
) -> float:
    density = of(context).liquid_density(liquid_temperature)
    return pressure_drop(mass_flow, density, LIQUID_VISCOSITY, inside_diameter, equivalent_length)


_SIZE = {"inside_diameter": ("in", "mm")}
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
        usual=_SIZE,
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
        usual=_SIZE,
    ),
    Formula(
        name="liquid_line_drop",
        title="friction loss of a liquid line",
        inputs={
            "mass_flow": Kind.MASS_FLOW,
            "liquid_temperature": Kind.TEMPERATURE,
            "inside_diameter": Kind.LENGTH,
            "equivalent_length": Kind.LENGTH,
        },
        output=Kind.PRESSURE_DIFFERENCE,
        text="f x L/D x density x velocity^2 / 2, f by Colebrook (1939), drawn copper; viscosity "
        "0.13 cP",
        source=f"Darcy and Weisbach; Colebrook (1939); {TABLES}",
        compute=_liquid_drop,
        basis="bubble",
        validity="solid liquid, no oil to speak of; lift, drier and valves come on top; good to "
        "12 %",
        needs_refrigerant=True,
        model_error_at=lambda context, values: LIQUID_MODEL * _liquid_drop(context, **values),
        usual=_SIZE,
    ),
    Formula(
        name="reynolds_number",
        title="Reynolds number of a flow in a pipe",
        inputs={
            "mass_flow": Kind.MASS_FLOW,
            "inside_diameter": Kind.LENGTH,
            "viscosity": Kind.VISCOSITY,
        },
        output=Kind.RATIO,
        text="4 x mass flow / (pi x inside diameter x viscosity); turbulent above about 4,000",
        source=DEFINITION,
        compute=_reynolds,
        validity="one phase; inside diameter, not nominal size",
        usual=_SIZE,
    ),
)
