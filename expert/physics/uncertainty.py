"""The plus/minus of a derived value: errors of readings carried through, and the model's own."""

from __future__ import annotations

import math
from collections.abc import Mapping

from expert.physics.errors import OutOfRange
from expert.physics.formula import Context, Formula


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
    """Half the change of the output from x - error to x + error; one side at an edge."""
    if error == 0 or name not in values:
        return 0.0
    here = formula.compute(context, **values)
    up = _try(formula, context, values, name, error)
    down = _try(formula, context, values, name, -error)
    if up is not None and down is not None:
        return (up - down) / 2
    if up is not None:
        return up - here
    if down is not None:
        return here - down
    # Both ends lie outside: a smaller step gives the slope, scaled to the whole error.
    return _effect(formula, context, values, name, error / 8) * 8 if abs(error) > 1e-9 else 0.0


def _try(
    formula: Formula, context: Context, values: Mapping[str, float], name: str, step: float
) -> float | None:
    try:
        return formula.compute(context, **{**values, name: values[name] + step})
    except OutOfRange:
        return None
