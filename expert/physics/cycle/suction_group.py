"""One suction set point for many circuits: which one governs, what the others have spare."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from expert.physics.fluids.of_context import of
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import PhysicsError


@dataclass(frozen=True)
class CircuitNeed:
    """What a circuit needs: a dew temperature at its coil [K] and the drop to the rack [Pa]."""

    name: str
    evaporating: float
    drop: float


@dataclass(frozen=True)
class CircuitMargin:
    """A circuit's own set point [Pa gauge] and what a lower common one leaves it.

    `margin` [Pa] is what its regulator must hold back; `margin_temperature` [K] is how much
    colder than needed its coil would get without a regulator.
    """

    name: str
    set_point: float
    margin: float
    margin_temperature: float
    governs: bool


@dataclass(frozen=True)
class SuctionGroup:
    """The common set point [Pa gauge], the circuit that asks for it, and every circuit."""

    set_point: float
    governing: str
    circuits: tuple[CircuitMargin, ...]


def design_need(
    name: str, air_temperature: float, coil_temperature_difference: float, line_drop: float
) -> CircuitNeed:
    """Need by the design route: air [K] less coil difference [K] (dew basis), and drop [Pa]."""
    return CircuitNeed(name, air_temperature - coil_temperature_difference, line_drop)


def shortcut_need(name: str, case_temperature: float, allowance: float) -> CircuitNeed:
    """Need by the trade shortcut: case temperature [K] and one allowance [Pa] for everything."""
    return CircuitNeed(name, case_temperature, allowance)


def suction_group(context: Context, needs: Sequence[CircuitNeed]) -> SuctionGroup:
    """The set point that satisfies every circuit of a suction group: the lowest of their own.

    Circuits that ask for the same pressure share the first one's name as governing. Raises
    `PhysicsError` for an empty group and `OutOfRange` for a need outside the tables.
    """
    if not needs:
        raise PhysicsError("The suction group has no circuits.")
    fluid = of(context)
    own = [fluid.dew_pressure(need.evaporating) - need.drop for need in needs]
    common = min(own)
    first = own.index(common)
    circuits = tuple(
        CircuitMargin(
            name=need.name,
            set_point=context.gauge(pressure),
            margin=pressure - common,
            margin_temperature=need.evaporating - fluid.dew_temperature(common + need.drop),
            governs=index == first,
        )
        for index, (need, pressure) in enumerate(zip(needs, own, strict=True))
    )
    return SuctionGroup(context.gauge(common), needs[first].name, circuits)
