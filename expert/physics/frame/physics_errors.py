"""What the physics refuses: a value outside the range, an unknown or unavailable refrigerant."""

from __future__ import annotations

import math
from collections.abc import Iterable

from expert.errors import RackwalkError
from expert.units.kinds import Kind, units_of

# The two units in which a range is printed, US first.
_PRINTED = {
    Kind.TEMPERATURE: ("F", "C"),
    Kind.TEMPERATURE_DIFFERENCE: ("F", "K"),
    Kind.ABSOLUTE_PRESSURE: ("psia", "bara"),
    Kind.GAUGE_PRESSURE: ("psig", "bar"),
    Kind.PRESSURE_DIFFERENCE: ("psi", "bar"),
    Kind.LENGTH: ("ft", "m"),
}
_PLAIN = (Kind.COUNT, Kind.RATIO, Kind.SHARE)


class PhysicsError(RackwalkError):
    """A number cannot be computed from what was given. Ends with exit code 4."""

    exit_code = 4


class OutOfRange(PhysicsError):
    """A value outside the range in which a result can be trusted; never extrapolated.

    `value`, `low` and `high` are SI values of `kind`; `why` says what lies beyond.
    """

    def __init__(
        self, what: str, value: float, low: float, high: float, kind: Kind, why: str = ""
    ) -> None:
        self.what, self.value, self.low, self.high = what, value, low, high
        self.kind, self.why = kind, why
        text = f"{what} is {shown(value, kind)}"
        if limits := _limits(low, high, kind):
            text += f"; it must {limits}"
        super().__init__(f"{text}: {why}." if why else f"{text}.")


class UnknownRefrigerant(PhysicsError):
    """No refrigerant of that name; `letters` are the blends meant where only a letter is lacking.

    Nothing else is offered: a neighbour in spelling is another fluid.
    """

    def __init__(self, name: str, letters: Iterable[str] = ()) -> None:
        self.name = name
        said = " 'rackwalk calc refrigerants' lists all; a company can add its own in a pack."
        if found := list(letters):
            said = f" Its letter is lacking: {' or '.join(found)}?"
        super().__init__(f"No refrigerant called '{name}' is carried.{said}")


class NotAvailable(PhysicsError):
    """A known thing that cannot be computed; says why."""

    def __init__(self, what: str, why: str) -> None:
        self.what, self.why = what, why
        super().__init__(f"{what} is not available: {why}.")


def shown(value: float, kind: Kind) -> str:
    """An SI value in both unit systems, such as '75.1 psia (5.18 bara)'."""
    if not math.isfinite(value):
        return "not a finite number"
    texts = [f"{number} {unit}" for number, unit in _numbers(value, kind)]
    return (f"{texts[0]} ({texts[1]})" if len(texts) > 1 else texts[0]).rstrip()


def _limits(low: float, high: float, kind: Kind) -> str:
    if math.isfinite(low) and math.isfinite(high):
        return f"lie between {_span(low, high, kind)}"
    if math.isfinite(low):
        return f"be above {shown(low, kind)}"
    return f"be below {shown(high, kind)}" if math.isfinite(high) else ""


def _span(low: float, high: float, kind: Kind) -> str:
    pairs = zip(_numbers(low, kind), _numbers(high, kind), strict=True)
    texts = [f"{a} and {b} {unit}".rstrip() for (a, unit), (b, _) in pairs]
    return f"{texts[0]} ({texts[1]})" if len(texts) > 1 else texts[0]


def _numbers(value: float, kind: Kind) -> list[tuple[str, str]]:
    if kind in _PLAIN:
        return [(f"{value:g}", "")]
    names = _PRINTED.get(kind) or (units_of(kind)[0].name,)
    units = [unit for name in names for unit in units_of(kind) if unit.name == name]
    return [(f"{unit.from_si(value):.{max(unit.digits, 1)}f}", unit.name) for unit in units]
