"""The plus/minus of a derived value: errors of readings carried through, and the model's own."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cache

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
    Source: JCGM 100:2008 (GUM), 5.1.2, inputs taken as independent. Where a formula bends, the
    spread of its results over a fixed set of readings (JCGM 101:2008) stands in for the slopes.
    Raises what the formula raises for the values themselves.
    """
    value = formula.compute(context, **values)
    if formula.bends:
        parts = [_spread(formula, context, values, errors)]
    else:
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


_POINTS = 32
_REACH = 3.0  # errors away: where a bend is looked for


def _spread(
    formula: Formula,
    context: Context,
    values: Mapping[str, float],
    errors: Mapping[str, float],
) -> float:
    """Standard deviation of the results over readings that are off by their errors.

    The readings are laid out most evenly along the direction in which the result moves most,
    since a bend is a step across that direction. What the formula refuses is left out.
    """
    moved = [name for name, error in errors.items() if error and name in values]
    if not moved:
        return 0.0
    reach = [
        _effect(formula, context, values, name, _REACH * errors[name]) / _REACH for name in moved
    ]
    results = []
    for point in _layout(len(moved)):
        off = _turned(point, reach)
        there = {name: values[name] + z * errors[name] for name, z in zip(moved, off, strict=True)}
        try:
            results.append(formula.compute(context, **{**values, **there}))
        except PhysicsError:
            continue
    from statistics import pstdev  # seldom needed, and long to load

    return pstdev(results) if results else math.inf


@cache
def _layout(count: int) -> tuple[tuple[float, ...], ...]:
    """Points of `count` independent normal numbers, each of mean 0 and variance 1.

    The first coordinate in equal steps of probability, the others by the additive recurrence of
    Roberts (2018, "The unreasonable effectiveness of quasirandom sequences").
    """
    from statistics import NormalDist, fmean, pstdev

    root = 2.0
    for _ in range(60):
        root = (1 + root) ** (1 / count)
    steps = [1 / _POINTS, *(root**-k for k in range(1, count))]
    normal = NormalDist().inv_cdf
    columns = []
    for step in steps:
        raw = [normal((0.5 / _POINTS + i * step) % 1 or 0.5) for i in range(_POINTS)]
        mean, wide = fmean(raw), pstdev(raw)
        columns.append([(z - mean) / wide for z in raw])
    return tuple(zip(*columns, strict=True))


def _turned(point: Sequence[float], along: Sequence[float]) -> Sequence[float]:
    """A point mirrored so that its first coordinate lies along a direction (Householder)."""
    length = math.hypot(*along)
    if not 0 < length < math.inf:
        return point
    axis = [-part / length for part in along]
    axis[0] += 1.0
    size = sum(part * part for part in axis)
    if size < 1e-24:
        return point
    share = 2 * sum(a * z for a, z in zip(axis, point, strict=True)) / size
    return [z - share * a for a, z in zip(axis, point, strict=True)]
