"""The clocks that a leak rate over the limit starts, and the duties that come with a charge.

Days are calendar days; no weekend or holiday moves them. Figures are in leak_rules.yaml.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.appliance import Appliance, in_force, months_later
from expert.physics.leak_law.rules import LeakRules, Number, exact, leak_rules

COMFORT = ("comfort cooling", "residential or light commercial comfort cooling")


@dataclass(frozen=True)
class RepairClock:
    """Last days after a leak rate over the limit.

    `follow_up_by` is missing until the initial verification test has passed (and, where the
    appliance was evacuated, until it is back in normal operation).
    """

    repair_by: date
    initial_verification_by: date
    follow_up_by: date | None
    plan_by: date
    plan_finished_by: date
    notice: str


@dataclass(frozen=True)
class Chronic:
    """What was added in a calendar year as a share of the full charge, and the report it asks."""

    year: int
    share: Fraction
    report: bool
    report_by: date | None
    notice: str

    @property
    def percent(self) -> Fraction:
        """The share in per cent."""
        return self.share * 100


@dataclass(frozen=True)
class Inspection:
    """How often to inspect after a leak rate over the limit, and until when.

    `calendar_year`: once in each calendar year, at the latest on its last day.
    """

    every_months: int
    until: str
    first_by: date
    notice: str
    calendar_year: bool = False

    def next_by(self, last: date) -> date:
        """The last day of the inspection after one on a day."""
        if self.calendar_year:
            return date(last.year + 1, 12, 31)
        return months_later(last, self.every_months)

    @property
    def how_often(self) -> str:
        """In words: 'every 3 months', 'once in each calendar year'."""
        if self.calendar_year:
            return "once in each calendar year"
        return f"every {self.every_months} months"


@dataclass(frozen=True)
class DetectionDuty:
    """Whether automatic leak detection is asked for, by when, and why not."""

    required: bool
    by: date | None
    reason: str
    notice: str


def repair_clock(
    exceeded_on: date,
    *,
    initial_passed: date | None = None,
    evacuated: bool = False,
    back_in_operation: date | None = None,
    process_shutdown: bool = False,
    rules: LeakRules | None = None,
) -> RepairClock:
    """Clocks from the day of the addition that showed a rate over the limit.

    `evacuated`: the appliance was emptied for the repair, so that the follow-up counts from
    normal operation. `process_shutdown`: an industrial process must stop for the repair.
    Raises `PhysicsError` for dates out of order.
    """
    rules = rules or leak_rules()
    for what, day in (("initial verification", initial_passed), ("operation", back_in_operation)):
        if day is not None and day < exceeded_on:
            raise PhysicsError(f"The date of {what} is earlier than the addition.")
    allowed = rules.days("repair_days_with_shutdown" if process_shutdown else "repair_days")
    repair_by = exceeded_on + timedelta(days=allowed)
    start = initial_passed
    if evacuated and initial_passed is not None:
        start = max(initial_passed, back_in_operation) if back_in_operation else None
    plan_by = exceeded_on + timedelta(days=rules.days("plan_days"))
    return RepairClock(
        repair_by=repair_by,
        initial_verification_by=repair_by,
        follow_up_by=start and start + timedelta(days=rules.days("follow_up_days")),
        plan_by=plan_by,
        plan_finished_by=months_later(plan_by, 12 * rules.days("plan_years")),
        notice=rules.notice,
    )


def chronic(
    additions: Sequence[Number], full_charge: Number, year: int, rules: LeakRules | None = None
) -> Chronic:
    """Whether what was added [lb] in a calendar year makes a chronic leaker.

    125 % or more of the full charge is reported, 125 % itself included. Raises `PhysicsError`.
    """
    rules = rules or leak_rules()
    charge, amounts = exact(full_charge), [exact(one) for one in additions]
    if not charge > 0 or any(one < 0 for one in amounts):
        raise PhysicsError("The full charge must be above zero and no addition below zero.")
    share = sum(amounts, Fraction(0)) / charge
    report = share * 100 >= rules.figure("chronic_percent")
    by = date(year + 1, *rules.chronic_report) if report else None
    return Chronic(year, share, report, by, rules.notice)


def inspection(
    unit: Appliance, since: date, *, detector: bool = False, rules: LeakRules | None = None
) -> Inspection | None:
    """Leak inspections after a rate over the limit; nothing where a detector watches it all.

    `since` is the day from which the interval counts. Raises `PhysicsError` for an unknown use.
    """
    rules = rules or leak_rules()
    rules.limit(unit.use)
    if detector:
        return None
    large = unit.full_charge >= rules.figure("inspection_charge_lb") and unit.use not in COMFORT
    months = rules.days("inspection_months_large" if large else "inspection_months_small")
    until = (
        "four quarters in a row stay at or under the limit"
        if large
        else "a full year stays at or under the limit"
    )
    first = months_later(since, months) if large else date(since.year, 12, 31)
    return Inspection(months, until, first, rules.notice, calendar_year=not large)


def detection_duty(
    unit: Appliance, installed: date, rules: LeakRules | None = None
) -> DetectionDuty:
    """Whether and by when the appliance must have automatic leak detection.

    Raises `PhysicsError`, `UnknownRefrigerant`.
    """
    rules = rules or leak_rules()
    rules.limit(unit.use)
    duty = rules.detection
    covered = any(one.id == "hydrofluorocarbon" for one in rules.programmes_for(unit.refrigerant))
    reason = ""
    if unit.use in COMFORT:
        reason = f"{unit.use} is not asked for it"
    elif not covered:
        reason = "the refrigerant is not covered"
    elif unit.full_charge < duty.full_charge.value:
        reason = f"under {int(duty.full_charge.value):,} lb"
    elif installed < duty.oldest_installed:
        reason = f"installed before {duty.oldest_installed}"
    if reason:
        return DetectionDuty(False, None, reason, rules.notice)
    if installed < duty.new_from:
        return DetectionDuty(True, duty.older_by, f"installed {installed}", rules.notice)
    by = installed + timedelta(days=int(duty.days_after_installation.value))
    return DetectionDuty(True, by, "on installation or within the days allowed", rules.notice)


def keep_records_until(day: date, rules: LeakRules | None = None) -> date:
    """Last day on which a record of this day must still be at hand."""
    return months_later(day, 12 * (rules or leak_rules()).days("records_years"))


def applies(unit: Appliance, on: date, rules: LeakRules | None = None) -> str:
    """Which programmes cover the appliance on a day, in one line. Raises `PhysicsError`."""
    rules = rules or leak_rules()
    found = in_force(unit, on, rules)
    if not found:
        return "none"
    limit = rules.limit(unit.use) * 100
    return f"{' and '.join(one.citation for one in found)}, limit {float(limit):g} %"
