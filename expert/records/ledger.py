"""The refrigerant log of one system: every amount, the leak rate then, and what followed.

Exact pounds and shares throughout; what cannot be worked out is unknown and says why.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from expert.inference.sentences import first_up
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.appliance import (
    Addition,
    Appliance,
    Reason,
    added_in,
    months_later,
    needs_rate,
)
from expert.physics.leak_law.clocks import Chronic, chronic
from expert.physics.leak_law.rate import LeakRate, leak_rate
from expert.physics.leak_law.rules import leak_rules
from expert.records.movements import Happening, Movement
from expert.records.record_roles import ADDED, FOLLOW_UP, FULL_CHARGE, RECOVERED, RecordRoles
from expert.records.systems import EU, System

EU_RATE = "No leak rate is asked for in the European Union; checks go by what is charged."
NO_CHARGE = "the full charge is missing from the site file and the log"


@dataclass(frozen=True)
class Charge:
    """A full charge [lb] with the day from which it counts (None: the site file's)."""

    pounds: Fraction
    since: date | None
    how: str


@dataclass(frozen=True)
class LedgerLine:
    """One line of the log. `rates` is empty where none is `asked` for or known; `unknown` says why.

    `followed` holds what came after an addition, with the days to the first of each.
    """

    movement: Movement
    charge: Charge | None
    rates: tuple[LeakRate, ...] = ()
    unknown: tuple[str, ...] = ()
    asked: bool = False
    followed: tuple[tuple[str, int], ...] = ()

    @property
    def over(self) -> bool:
        """Whether a rate is over the limit of a programme that covers the system."""
        return any(rate.over for rate in self.rates)


@dataclass(frozen=True)
class SystemLog:
    """The log of one system in order of days, with what happened beside it.

    `struck` are lines that were corrected to zero: they stand in the log and count for nothing.
    """

    system: System
    lines: tuple[LedgerLine, ...]
    happenings: tuple[Happening, ...]
    additions: tuple[Addition, ...]
    notes: tuple[str, ...]
    struck: tuple[Movement, ...] = ()

    def charge_on(self, day: date) -> Charge | None:
        """The full charge that counts on a day."""
        return charge_on(self.system, [line.movement for line in self.lines], day)

    def unit_on(self, day: date) -> Appliance | None:
        """The appliance of the leak rules on a day; None without a full charge."""
        charge = self.charge_on(day)
        return Appliance(self.system.refrigerant, charge.pounds) if charge else None

    def year(self, year: int) -> Chronic | None:
        """What was added in a calendar year as a share of the full charge; None if unknown.

        The full charge is that of the year's last addition. Raises `PhysicsError`.
        """
        days = [one.on for one in self.additions if one.on.year == year]
        charge = self.charge_on(max(days)) if days else None
        if charge is None:
            return None
        return chronic(added_in(year, self.additions), charge.pounds, year)


def build(
    system: System,
    movements: Iterable[Movement],
    happenings: Iterable[Happening],
    roles: RecordRoles,
) -> SystemLog:
    """The log of a system from what all its jobs say, in whatever order they come."""
    written = sorted(
        (each for each in movements if each.system == system.id),
        key=lambda each: (each.day, each.at, each.job, each.key),
    )
    moved = [each for each in written if each.pounds > 0]
    after = sorted(
        (each for each in happenings if each.system == system.id),
        key=lambda each: (each.day, each.at, each.job),
    )
    additions = _additions(moved, roles)
    passed = [each.day for each in after if each.what == FOLLOW_UP]
    lines = [_line(system, each, moved, additions, passed, after) for each in moved]
    return SystemLog(
        system, tuple(lines), tuple(after), tuple(additions), tuple(_notes(system, moved)),
        tuple(each for each in written if each.pounds == 0),
    )  # fmt: skip


def charge_on(system: System, moved: Sequence[Movement], day: date) -> Charge | None:
    """The last full charge that was determined up to a day, else that of the site file."""
    found = [each for each in moved if each.kind == FULL_CHARGE and each.day <= day]
    if found:
        return Charge(found[-1].pounds, found[-1].day, found[-1].reason)
    if system.full_charge is None:
        return None
    return Charge(system.full_charge, None, "site file")


def _notes(system: System, moved: Sequence[Movement]) -> Iterable[str]:
    if moved and charge_on(system, moved, moved[-1].day) is None:
        yield f"Leak rate unknown: {NO_CHARGE}."
    if not system.method_named:
        yield "The site file names no leak rate method: both are shown, and either starts a clock."


def _additions(moved: Sequence[Movement], roles: RecordRoles) -> list[Addition]:
    """Additions as the leak rules count them; a seasonal one with what it puts back."""
    found = []
    stored: list[tuple[date, Fraction]] = []
    for each in moved:
        if each.kind == RECOVERED and each.reason == roles.seasonal_recovery:
            stored.append((each.day, each.pounds))
        if each.kind != ADDED:
            continue
        reason = Reason(roles.addition_reasons.get(each.reason, Reason.LEAK.value))
        removed, removed_on = Fraction(0), None
        if reason is Reason.SEASONAL:
            months = leak_rules().days("seasonal_months")
            stored = [one for one in stored if each.day <= months_later(one[0], months)]
            removed = sum((pounds for _, pounds in stored), Fraction(0))
            removed_on = min((day for day, _ in stored), default=None)
            stored = _put_back(stored, each.pounds)
        found.append(Addition(each.day, each.pounds, reason, each.same_leak, removed, removed_on))
    return found


def _put_back(stored: list[tuple[date, Fraction]], pounds: Fraction) -> list[tuple[date, Fraction]]:
    """What is still stored after some of it was put back, the oldest first."""
    left = []
    for day, have in stored:
        taken = min(have, pounds)
        pounds -= taken
        if have > taken:
            left.append((day, have - taken))
    return left


def _line(
    system: System,
    movement: Movement,
    moved: Sequence[Movement],
    additions: Sequence[Addition],
    passed: Sequence[date],
    happenings: Sequence[Happening],
) -> LedgerLine:
    day = movement.day
    charge = charge_on(system, moved, day)
    if movement.kind != ADDED:
        return LedgerLine(movement, charge)
    rates: list[LeakRate] = []
    refused: dict[str, list[str]] = {}
    if system.law == EU:
        refused[EU_RATE] = []
    elif charge is None:
        refused[f"Leak rate unknown: {NO_CHARGE}."] = []
    else:
        unit = Appliance(system.refrigerant, charge.pounds)
        # a test of the same day belongs to the repair; the days before it count from the one before
        before = max((each for each in passed if each < day), default=None)
        for method in system.methods:
            try:
                rates.append(leak_rate(unit, additions, day, method, before))
            except PhysicsError as error:
                refused.setdefault(str(error), []).append(method.value)
    reasons = tuple(
        text
        if len(methods) == len(system.methods) or not methods
        else f"{first_up(methods[0])}: {text}"
        for text, methods in refused.items()
    )
    asked = system.law != EU and any(needs_rate(one) for one in additions if one.on == day)
    return LedgerLine(movement, charge, tuple(rates), reasons, asked, _followed(day, happenings))


def _followed(day: date, happenings: Sequence[Happening]) -> tuple[tuple[str, int], ...]:
    """The first of each thing on or after a day, with the days to it."""
    found: dict[str, int] = {}
    for each in happenings:
        if each.day >= day:
            found.setdefault(each.what, (each.day - day).days)
    return tuple(found.items())
