"""Unbalance of three phases, and their average against what a nameplate or table says.

Sources: from memory: NEMA MG 1, definition of voltage unbalance; definition.
"""

from __future__ import annotations

from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import Kind

_UNBALANCE = "from memory: NEMA MG 1, definition of voltage unbalance"
_DEFINITION = "definition"


def unbalance(a: float, b: float, c: float) -> float:
    """Largest departure of three from their average, over the average.

    Raises `PhysicsError` where all are zero.

    >>> round(100 * unbalance(480, 472, 466), 1)
    1.6
    """
    average = (a + b + c) / 3
    if not average > 0:
        raise PhysicsError("Three phases at zero have no unbalance.")
    return max(abs(each - average) for each in (a, b, c)) / average


def from_reference(a: float, b: float, c: float, reference: float) -> float:
    """Average of three less a reference, over the reference.

    Raises `PhysicsError` where the reference is zero.
    """
    if not reference > 0:
        raise PhysicsError("Nothing can be compared with a reference of zero.")
    return (a + b + c) / 3 / reference - 1


def _unbalance(context: Context, a: float, b: float, c: float) -> float:
    return unbalance(a, b, c)


def _from_reference(context: Context, a: float, b: float, c: float, reference: float) -> float:
    return from_reference(a, b, c, reference)


def _formulas(what: str, kind: Kind) -> tuple[Formula, Formula]:
    three = dict.fromkeys("abc", kind)
    return (
        Formula(
            name=f"{what}_unbalance",
            title=f"{what} unbalance of three phases",
            inputs=three,
            output=Kind.SHARE,
            text="largest departure from the average / average",
            validity="three readings at the same load, within a minute",
            source=_UNBALANCE,
            compute=_unbalance,
            bends=True,
        ),
        Formula(
            name=f"{what}_from_reference",
            title=f"average {what} of three phases over a reference",
            inputs={**three, "reference": kind},
            output=Kind.SHARE,
            text="(average - reference) / reference",
            validity="a reference for the voltage that is there",
            source=_DEFINITION,
            compute=_from_reference,
        ),
    )


FORMULAS: tuple[Formula, ...] = (
    *_formulas("voltage", Kind.VOLTAGE),
    *_formulas("current", Kind.CURRENT),
)
