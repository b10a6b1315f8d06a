"""The plus/minus of a derived value: errors of readings carried through, and the model's own."""

from __future__ import annotations

import math
from collections.abc import Mapping

from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError


def propagate(
    formula: Formula,
    context: Context,
    values: Mapping[str, float],
    errors: Mapping[str, float],
) -> tuple[float, float]:
    """Value and uncertainty of a formula, both in the SI unit of its output.

    `errors` holds the plus/minus of inputs in SI; a missing one counts as exact. First order:
    sqrt(sum of (df/dx dx)^2 + model error^2), slopes by differences over the error itself.
    Source: JCGM 100:2008 (GUM), 5.1.2, inputs taken as independent.
    Raises what the formula raises for the values themselves.
    """
    value = formula.compute(context, **values)
    parts = [_effect(formula, context, values, name, error) for name, error in errors.items()]
    return value, math.hypot(model_error(formula, context, values), *parts)


def model_error(formula: Formula, context: Context, values: Mapping[str, float]) -> float:
    """Uncertainty of the property model at these values, in the output's SI unit."""
    if formula.model_error_at is not None:
        return abs(formula.model_error_at(context, values))
    return abs(formula.model_error(context))


def _effect(
    formula: Formula, context: Context, values: Mapping[str, float], name: str, error: float
) -> float:
    """Half the change of the output from x - error to x + error; one side at an edge.

    Where neither end has a value a smaller step is scaled up; with no neighbour at all the
    effect is unknown, and infinite.
    """
    if error == 0 or name not in values:
        return 0.0
    here = formula.compute(context, **values)
    for scale in (1.0, 8.0, 64.0, 512.0, 4096.0):
        up = _try(formula, context, values, name, error / scale)
        down = _try(formula, context, values, name, -error / scale)
        if up is not None and down is not None:
            return scale * (up - down) / 2
        if up is not None:
            return scale * (up - here)
        if down is not None:
            return scale * (here - down)
    return math.inf


def _try(
    formula: Formula, context: Context, values: Mapping[str, float], name: str, step: float
) -> float | None:
    try:
        return formula.compute(context, **{**values, name: values[name] + step})
    except PhysicsError:
        return None
