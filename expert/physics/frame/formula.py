"""The form in which a physics function is offered to `rackwalk calc` and to derived values.

A formula names its inputs and output by kind, says its basis and source, and computes in SI.
Gauge pressures arrive as pascals above the barometer of the context.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import field
from functools import wraps

from expert.made_when_used import dataclass
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
class Also:
    """Another kind in which an input may be given: `turn(other inputs, SI value)` is the input."""

    kind: Kind
    turn: Callable[[Mapping[str, float | str], float], float]


@dataclass(frozen=True)
class Formula:
    """One physics function with all that is needed to show, check and explain it.

    `compute(context, **inputs)` takes and returns SI floats. `model_error` is the uncertainty
    of the property model itself in the output's SI unit, given the context (0 where exact).
    A value that is not a finite number is refused, going in and coming out.
    An input of kind CHOICE arrives as one of its words in `choices`. `usual` names the units
    (US, SI) in which people give an input, or read the result, where they are not the first ones
    of its kind. `also` is an input that may be given as another kind, and what turns it over
    (from all other inputs). `exact` are inputs that are chosen, not read. An amount, a size, a
    difference or a time given below zero is refused unless `signed` names it, and so is a result
    below a perfect vacuum or absolute zero. `bends` where it is cut at a bound (none below zero,
    the greater of two), so that slopes at a point do not tell how it moves within an error.
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
    usual: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    also: Mapping[str, Also] = field(default_factory=dict)
    exact: tuple[str, ...] = ()
    signed: tuple[str, ...] = ()
    bends: bool = False

    def unit(self, name: str, system: str) -> str:
        """The unit in which people give this input, or read the result; empty for the first one."""
        us, si = self.usual.get(name, ("", ""))
        return si if system == "si" else us

    def __post_init__(self) -> None:
        object.__setattr__(self, "compute", _checked(self, self.compute))


_PLANT = {  # SI: what no reading in or around a plant leaves
    Kind.TEMPERATURE: (100.0, 700.0),
    Kind.GAUGE_PRESSURE: (-math.inf, 35e6),
}
_ANY_SIGN = (Kind.TEMPERATURE, Kind.GAUGE_PRESSURE, Kind.CHOICE, Kind.TEXT)


def _checked(formula: Formula, compute: Callable[..., float]) -> Callable[..., float]:
    """A function that refuses with `PhysicsError` what cannot be, going in and coming out."""
    title = formula.title

    @wraps(compute)
    def checked(context: Context, **values: float | str) -> float:
        for name, value in values.items():
            if not isinstance(value, str):
                _check(formula, name, value, context)
        try:
            result = compute(context, **values)
        except ArithmeticError as error:
            raise PhysicsError(f"These values give no {title}.") from error
        if not math.isfinite(result):
            raise PhysicsError(f"These values give no {title}.")
        low, why = _lowest(formula.output, context)
        if result < low:
            raise OutOfRange(f"The {title}", result, low, math.inf, formula.output, why)
        return result

    return checked


def _check(formula: Formula, name: str, value: float, context: Context) -> None:
    kind = formula.inputs.get(name, Kind.COUNT)
    what = f"The {name.replace('_', ' ')} for the {formula.title}"
    if not math.isfinite(value):
        raise OutOfRange(what, value, -math.inf, math.inf, kind)
    low, why = _lowest(kind, context)
    if kind not in _ANY_SIGN and name not in formula.signed:
        low, why = 0.0, "it cannot be below zero"
    if value < low:
        raise OutOfRange(what, value, low, math.inf, kind, why)
    least, most = _PLANT.get(kind, (-math.inf, math.inf))
    if not least <= value <= most:
        raise OutOfRange(what, value, least, most, kind, "no plant has that")


def _lowest(kind: Kind, context: Context) -> tuple[float, str]:
    """The least value [SI] of a kind, and what lies there."""
    if kind is Kind.GAUGE_PRESSURE:
        return -context.barometer, "no gauge can read below perfect vacuum"
    if kind is Kind.TEMPERATURE:
        return 0.0, "nothing is colder than absolute zero"
    return -math.inf, ""
