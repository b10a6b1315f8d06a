"""Coils and condensers as heat exchangers: mean difference, conductance, capacity elsewhere.

Sources: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer (5th ed. 2002), section
11.3; definition: constant conductance.
"""

from __future__ import annotations

import math

from expert.physics.fluids.of_context import DEFINITION
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.frame.refusals import above_zero
from expert.units.kinds import FAHRENHEIT, Kind

SAME = 3 * FAHRENHEIT  # K: one temperature, read twice with ordinary instruments


def log_mean_difference(
    context: Context, hot_in: float, hot_out: float, cold_in: float, cold_out: float
) -> float:
    """Logarithmic mean temperature difference [K] of a counterflow exchanger.

    Temperatures [K]; a side that condenses or boils at one temperature has the same twice.
    Raises `PhysicsError` where heat would flow from cold to hot.
    """
    if hot_out > hot_in + SAME or cold_out < cold_in - SAME:
        raise PhysicsError("The hot side cools and the cold side warms: in and out are swapped.")
    first, last = hot_in - cold_out, hot_out - cold_in
    if not (first > 0 and last > 0):
        raise PhysicsError("At one end the cold side is as warm as the hot one: it cannot be.")
    if abs(first / last - 1) < 1e-6:
        return (first + last) / 2
    return (first - last) / math.log(first / last)


def heat_conductance(context: Context, heat: float, **inputs: float) -> float:
    """Conductance [W/K]: heat [W] over the logarithmic mean difference."""
    return heat / log_mean_difference(context, **inputs)


def capacity_at_difference(
    context: Context, rated_capacity: float, rated_difference: float, difference: float
) -> float:
    """Capacity [W] of a coil or condenser at another temperature difference [K] than rated."""
    above_zero("The rated difference", rated_difference, Kind.TEMPERATURE_DIFFERENCE)
    return rated_capacity * difference / rated_difference


_ENDS = {
    "hot_in": Kind.TEMPERATURE,
    "hot_out": Kind.TEMPERATURE,
    "cold_in": Kind.TEMPERATURE,
    "cold_out": Kind.TEMPERATURE,
}
_COUNTER = "counterflow, or one side at one temperature; no correction for cross flow"
_SOURCE = (
    "published: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer (5th ed. 2002), "
    "section 11.3"
)

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="log_mean_difference",
        title="logarithmic mean temperature difference",
        inputs=_ENDS,
        output=Kind.TEMPERATURE_DIFFERENCE,
        text="(d1 - d2) / ln(d1 / d2), d1 = hot in - cold out, d2 = hot out - cold in",
        source=_SOURCE,
        compute=log_mean_difference,
        validity=_COUNTER,
    ),
    Formula(
        name="heat_conductance",
        title="conductance of a coil or condenser",
        inputs={"heat": Kind.POWER, **_ENDS},
        output=Kind.CONDUCTANCE,
        text="heat / logarithmic mean temperature difference",
        source=_SOURCE,
        compute=heat_conductance,
        validity=f"{_COUNTER}; falls with dirt, frost and less air",
    ),
    Formula(
        name="capacity_at_difference",
        title="capacity of a coil or condenser at another temperature difference",
        inputs={
            "rated_capacity": Kind.POWER,
            "rated_difference": Kind.TEMPERATURE_DIFFERENCE,
            "difference": Kind.TEMPERATURE_DIFFERENCE,
        },
        output=Kind.POWER,
        text="rated capacity x difference / rated difference",
        source=f"{DEFINITION}: constant conductance",
        compute=capacity_at_difference,
        validity="clean, same air flow; both differences on the same basis (dew or mid-point, "
        "entering or mean air); near the rating",
    ),
)
