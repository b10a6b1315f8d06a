"""The form in which a physics function is offered to `rackwalk calc` and to derived values.

A formula names its inputs and output by kind, says its basis and source, and computes in SI.
Gauge pressures arrive as pascals above the barometer of the context.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import wraps

from expert.physics.frame.physics_errors import OutOfRange, PhysicsError
from expert.units.kinds import ATMOSPHERE, Kind


@dataclass(frozen=True)
class Context:
    """What a formula may need beside its readings: the refrigerant and the barometer [Pa]."""

    refrigerant: str | None = None
    barometer: float = ATMOSPHERE

    def absolute(self, gauge: float) -> float:
        """Absolute pressure [Pa] of a gauge pressure [Pa]."""
        return gauge + self.barometer

    def gauge(self, absolute: float) -> float:
        """Gauge pressure [Pa] of an absolute pressure [Pa]."""
        return absolute - self.barometer


@dataclass(frozen=True)
class Formula:
    """One physics function with all that is needed to show, check and explain it.

    `compute(context, **inputs)` takes and returns SI floats. `model_error` is the uncertainty
    of the property model itself in the output's SI unit, given the context (0 where exact).
    A value that is not a finite number is refused, going in and coming out.
    An input of kind CHOICE arrives as one of its words in `choices`.
    """

    name: str
    title: str
    inputs: Mapping[str, Kind]
    output: Kind
    text: str
    source: str
    compute: Callable[..., float]
    basis: str = ""
    validity: str = ""
    needs_refrigerant: bool = False
    model_error: Callable[[Context], float] = field(default=lambda context: 0.0)
    model_error_at: Callable[[Context, Mapping[str, float]], float] | None = None
    warn: Callable[[float], str] = field(default=lambda value: "")
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "compute", _finite(self.title, self.inputs, self.compute))


def _finite(
    title: str, inputs: Mapping[str, Kind], compute: Callable[..., float]
) -> Callable[..., float]:
    """A function that refuses what is not a finite number with `PhysicsError`."""

    @wraps(compute)
    def checked(context: Context, **values: float | str) -> float:
        for name, value in values.items():
            if not isinstance(value, str) and not math.isfinite(value):
                what = f"The {name.replace('_', ' ')} for the {title}"
                raise OutOfRange(what, value, -math.inf, math.inf, inputs.get(name, Kind.COUNT))
        try:
            result = compute(context, **values)
        except ArithmeticError as error:
            raise PhysicsError(f"These values give no {title}.") from error
        if not math.isfinite(result):
            raise PhysicsError(f"These values give no {title}.")
        return result

    return checked
