"""What happened to an appliance: additions of refrigerant, and which rules cover it.

Pounds throughout: the rules are written in them. Figures and their sources are in leak_rules.yaml.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from expert.made_when_used import dataclass
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.rules import LeakRules, Number, Programme, exact, leak_rules


class Reason(StrEnum):
    """Why refrigerant was added."""

    LEAK = "found low"
    FIRST_CHARGE = "first charge of a new installation"
    RETROFIT = "charge right after a retrofit"
    SEASONAL = "seasonal variance"


@dataclass(frozen=True)
class Addition:
    """Refrigerant added on a day [lb], above zero.

    `same_leak` says that it belongs to the addition before it: one leak, charged on several days.
    `removed` [lb] on `removed_on` is what a seasonal addition puts back. Raises `PhysicsError`.
    """

    on: date
    pounds: Fraction
    reason: Reason = Reason.LEAK
    same_leak: bool = False
    removed: Fraction = Fraction(0)
    removed_on: date | None = None

    def __post_init__(self) -> None:
        if not self.pounds > 0:
            raise PhysicsError("An addition must be above zero; what is recovered is no addition.")


@dataclass(frozen=True)
class Appliance:
    """What the rules ask of an appliance: refrigerant, full charge [lb], use."""

    refrigerant: str
    full_charge: Fraction
    use: str = "commercial refrigeration"

    def __post_init__(self) -> None:
        if not self.full_charge > 0:
            raise PhysicsError("The full charge must be above zero.")


def addition(
    on: date, pounds: Number, reason: Reason = Reason.LEAK, *, same_leak: bool = False
) -> Addition:
    """An addition of a number as it was written. Raises `PhysicsError`."""
    return Addition(on, exact(pounds), reason, same_leak)


def appliance(
    refrigerant: str, full_charge: Number | tuple[Number, Number], use: str | None = None
) -> Appliance:
    """An appliance; an established range of full charge counts by its midpoint.

    Raises `PhysicsError`.
    """
    if isinstance(full_charge, tuple):
        low, high = (exact(end) for end in full_charge)
        if not 0 < low <= high:
            raise PhysicsError("A range of full charge goes from above zero upwards.")
        charge = (low + high) / 2
    else:
        charge = exact(full_charge)
    return Appliance(refrigerant, charge) if use is None else Appliance(refrigerant, charge, use)


def needs_rate(one: Addition, rules: LeakRules | None = None) -> bool:
    """Whether an addition asks for a leak rate.

    Not the first charge, a charge right after a retrofit, or a seasonal one that puts back no
    more than was removed in the twelve months before. 40 CFR 82.157(b).
    """
    if one.reason in (Reason.FIRST_CHARGE, Reason.RETROFIT):
        return False
    if one.reason is not Reason.SEASONAL or one.removed_on is None:
        return True
    months = (rules or leak_rules()).days("seasonal_months")
    late = one.on > months_later(one.removed_on, months)
    return late or one.removed_on > one.on or one.pounds > one.removed


def in_force(unit: Appliance, on: date, rules: LeakRules | None = None) -> tuple[Programme, ...]:
    """Programmes that cover the appliance on a day, by contents, full charge and date.

    Raises `PhysicsError` for a day before the data begin.
    """
    rules = rules or leak_rules()
    first = min(programme.in_force for programme in rules.programmes)
    if on < first:
        raise PhysicsError(f"The rules held here begin on {first}; {on} is earlier.")
    return tuple(
        programme
        for programme in rules.programmes_for(unit.refrigerant, unit.use)
        if on >= programme.in_force and unit.full_charge >= programme.full_charge.value
    )


def merged(additions: Sequence[Addition]) -> list[Addition]:
    """Additions in order of date; those of one day, or marked as one leak, put together.

    A merged addition carries the last of its days.
    """
    result: list[Addition] = []
    for one in sorted(additions, key=lambda one: one.on):
        last = result[-1] if result else None
        if last and last.reason is one.reason and (one.same_leak or one.on == last.on):
            result[-1] = Addition(
                one.on,
                last.pounds + one.pounds,
                one.reason,
                last.same_leak,
                last.removed + one.removed,
                one.removed_on or last.removed_on,
            )
        else:
            result.append(one)
    return result


def months_later(day: date, months: int) -> date:
    """The same day of the month some months later, or the last day of a shorter month."""
    year, month = divmod(day.month - 1 + months, 12)
    first = date(day.year + year, month + 1, 1)
    following = date(first.year + first.month // 12, first.month % 12 + 1, 1)
    return min(first + timedelta(days=day.day - 1), following - timedelta(days=1))


def added_in(year: int, additions: Sequence[Addition]) -> list[Fraction]:
    """What was added in a calendar year [lb], without charges that ask for no leak rate."""
    return [one.pounds for one in additions if one.on.year == year and needs_rate(one)]
