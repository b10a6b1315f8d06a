"""Leak rate of an appliance by the two lawful methods, in exact arithmetic.

Rates are `Fraction` shares of the full charge a year; 20 % is not over 20 %. Pounds throughout:
the rules are written in them. Figures and their sources are in leak_rules.yaml.

Sources: from memory: 40 CFR 82.152 and 84.102; from memory: 40 CFR 82.157(j) and 84.106(j); from
memory: 40 CFR 84.108; 40 CFR 84.64 and 40 CFR 98 table A-1 (IPCC AR4, 2007).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from fractions import Fraction

from expert.made_when_used import dataclass
from expert.physics.fluids.of_context import named
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange, PhysicsError
from expert.physics.frame.refusals import INFINITY, above_zero
from expert.physics.leak_law.appliance import Addition, Appliance, in_force, merged, needs_rate
from expert.physics.leak_law.rules import LeakRules, Number, Programme, exact, leak_rules
from expert.units.kinds import POUND, Kind

DAY = 86400.0  # s


class Method(StrEnum):
    """The two lawful methods; all appliances of one operating facility use the same."""

    ANNUALIZING = "annualizing method"
    ROLLING_AVERAGE = "rolling average method"


@dataclass(frozen=True)
class LeakRate:
    """A leak rate [share a year] with all that it rests on.

    `over` says whether it is over the limit of a programme that covers the appliance; it is
    false where none does. `settled` is false where it is not over by what is known, and what is
    known does not reach back far enough to say that it is not over. `notice` goes with it
    wherever it is shown.
    """

    method: Method
    rate: Fraction
    added: Fraction
    full_charge: Fraction
    days: int
    limit: Fraction
    programmes: tuple[Programme, ...]
    over: bool
    settled: bool
    notes: tuple[str, ...]
    notice: str

    @property
    def percent(self) -> Fraction:
        """The rate in per cent."""
        return self.rate * 100


def annualizing(added: Number, full_charge: Number, days: Number) -> Fraction:
    """Leak rate [share a year] by the annualizing method.

    added / full charge x 365 / days since the last addition, days at most 365. Raises
    `PhysicsError` for a full charge or an addition that is not above zero or for days below one.
    """
    lost, charge = _checked(added, full_charge)
    elapsed = exact(days)
    if elapsed < 1:
        raise PhysicsError(
            "Days since the last addition must be one or more: put additions of one day together, "
            "and check the order of the dates."
        )
    year = leak_rules().figure("year_days")
    return lost / charge * year / min(elapsed, year)


def rolling_average(added: Number, full_charge: Number) -> Fraction:
    """Leak rate [share a year] by the rolling average method: added in the window / full charge.

    A window cut short by a follow-up verification test is not scaled up to a year.
    """
    lost, charge = _checked(added, full_charge)
    return lost / charge


def leak_rate(
    unit: Appliance,
    additions: Sequence[Addition],
    on: date,
    method: Method,
    follow_up_passed: date | None = None,
    rules: LeakRules | None = None,
    known_since: date | None = None,
) -> LeakRate:
    """Leak rate of an appliance on the day of an addition, from its whole history.

    `additions` up to and including that day; `follow_up_passed` is the last successful follow-up
    verification test of all identified leaks; `known_since` the day from which every addition is
    known (the installation, or the beginning of the log). Raises `PhysicsError` where the history
    cannot give a rate: none on that day, or no earlier addition to count the days from.
    """
    rules = rules or leak_rules()
    limit = rules.limit(unit.use)
    history = merged([one for one in additions if one.on <= on])
    if not history or history[-1].on != on:
        raise PhysicsError(f"There is no addition on {on}; a rate is worked out when one is made.")
    if not needs_rate(history[-1], rules):
        raise PhysicsError(f"No leak rate is asked for: {history[-1].reason}.")
    if method is Method.ANNUALIZING:
        added, days, notes = _since_last(history, rules)
        known = True
        rate = annualizing(added, unit.full_charge, days)
    else:
        added, days, notes = _window(history, on, follow_up_passed, rules)
        rate = rolling_average(added, unit.full_charge)
        start = on - timedelta(days=days)
        reaches = [known_since, history[0].on if history[0].on < on else None]
        known = days < rules.days("year_days") or any(
            each is not None and each <= start for each in reaches
        )
        if not known:
            notes.append(
                f"What was added between {start} and {history[0].on} is not known: the rate is at "
                "least this."
            )
    programmes = in_force(unit, on, rules)
    if added > unit.full_charge:
        notes.append("More was added than the full charge: check the full charge and the weights.")
    if not programmes:
        notes.append("No federal leak repair programme held here covers this appliance that day.")
    return LeakRate(
        method,
        rate,
        added,
        unit.full_charge,
        days,
        limit,
        programmes,
        over := bool(programmes) and rate > limit,
        known or over or not programmes,
        tuple(notes),
        rules.notice,
    )


def _since_last(history: list[Addition], rules: LeakRules) -> tuple[Fraction, int, list[str]]:
    today = history[-1]
    earlier = [one for one in history if one.on < today.on]
    if not earlier:
        raise PhysicsError(
            "The date of the addition before this one is not known, so its days cannot be counted. "
            "Give it, or the date of the first charge."
        )
    days = (today.on - earlier[-1].on).days
    year = rules.days("year_days")
    notes = [f"{days} days since the last addition count as {year}."] if days > year else []
    return today.pounds, min(days, year), notes


def _window(
    history: list[Addition], on: date, follow_up_passed: date | None, rules: LeakRules
) -> tuple[Fraction, int, list[str]]:
    year = rules.days("year_days")
    start, notes = on - timedelta(days=year), []
    if follow_up_passed is not None and follow_up_passed > on:
        raise PhysicsError("The follow-up verification test is later than the addition.")
    counted = [one for one in history if one.on > start and needs_rate(one, rules)]
    if follow_up_passed is not None and follow_up_passed > start:
        start = follow_up_passed
        counted = [one for one in counted if one.on > start]
        notes.append(f"Only what was added after the follow-up test of {start} counts.")
    if not counted:
        raise PhysicsError(
            "No addition is later than the follow-up test: one of the test day itself belongs to "
            "the repair."
        )
    return sum((one.pounds for one in counted), Fraction(0)), (on - start).days, notes


def _checked(added: Number, full_charge: Number) -> tuple[Fraction, Fraction]:
    lost, charge = exact(added), exact(full_charge)
    if not charge > 0:
        raise PhysicsError("The full charge must be above zero.")
    if not lost > 0:
        raise PhysicsError("An addition must be above zero; what is recovered is no addition.")
    return lost, charge


def _written(kilograms: float) -> Fraction:
    """Kilograms with the noise of the conversion from pounds taken off: 31.6 lb stays 31.6 lb."""
    return exact(round(kilograms, 11))


def _annualizing(context: Context, added: float, full_charge: float, elapsed: float) -> float:
    _masses(added, full_charge)
    if not elapsed >= DAY:
        raise OutOfRange(
            "The time since the last addition",
            elapsed,
            DAY,
            INFINITY,
            Kind.DURATION,
            "put additions of one day together",
        )
    days = exact(round(elapsed, 3)) / int(DAY)
    return float(annualizing(_written(added), _written(full_charge), days))


def _rolling(context: Context, added: float, full_charge: float) -> float:
    _masses(added, full_charge)
    return float(rolling_average(_written(added), _written(full_charge)))


def _alert(context: Context, full_charge: float) -> float:
    above_zero("The full charge", full_charge, Kind.MASS)
    duty = leak_rules().detection
    return min(float(duty.alert.value) * POUND, float(duty.alert_share.value) * full_charge)


def _climate(context: Context, added: float) -> float:
    above_zero("The addition", added, Kind.MASS)
    gwp = refrigerant(named(context)).gwp.get("AIM_Act")
    if not isinstance(gwp, int | float):
        raise NotAvailable(f"The GWP of {context.refrigerant}", "no figure of that report is held")
    return added * gwp


def _masses(added: float, full_charge: float) -> None:
    above_zero("The addition", added, Kind.MASS)
    above_zero("The full charge", full_charge, Kind.MASS)


_DECIDES = "the regulation in force and local rules decide"

FORMULAS: tuple[Formula, ...] = (
    Formula(
        name="leak_rate_annualizing",
        title="leak rate, annualizing method",
        inputs={"added": Kind.MASS, "full_charge": Kind.MASS, "elapsed": Kind.DURATION},
        output=Kind.SHARE,
        text="added / full charge x 365 / days since the last addition, at most 365, a year",
        source="from memory: 40 CFR 82.152 and 84.102",
        compute=_annualizing,
        usual={"elapsed": ("day", "day")},
        validity=f"one method for all appliances of a facility; over means above the limit, not "
        f"at it; {_DECIDES}",
    ),
    Formula(
        name="leak_rate_rolling_average",
        title="leak rate, rolling average method",
        inputs={"added": Kind.MASS, "full_charge": Kind.MASS},
        output=Kind.SHARE,
        text="added in the last 365 days, or since the last passed follow-up test / full charge, a "
        "year",
        source="from memory: 40 CFR 82.152 and 84.102",
        compute=_rolling,
        validity=f"one method for all appliances of a facility; a shortened window is not scaled "
        f"up; {_DECIDES}",
    ),
    Formula(
        name="chronic_leak_share",
        title="refrigerant added in a calendar year as a share of the full charge",
        inputs={"added": Kind.MASS, "full_charge": Kind.MASS},
        output=Kind.SHARE,
        text="added in the calendar year / full charge; 125 % or more is reported",
        source="from memory: 40 CFR 82.157(j) and 84.106(j)",
        compute=_rolling,
        validity=_DECIDES,
    ),
    Formula(
        name="leak_detector_alert_level",
        title="loss at which an indirect leak detector must alert",
        inputs={"full_charge": Kind.MASS},
        output=Kind.MASS,
        text="50 lb or 10 % of full charge, whichever is less",
        source="from memory: 40 CFR 84.108",
        compute=_alert,
        validity=f"a duty from 1,500 lb; {_DECIDES}",
    ),
    Formula(
        name="addition_climate_figure",
        title="carbon dioxide that warms as much as refrigerant lost",
        inputs={"added": Kind.MASS},
        output=Kind.MASS,
        text="mass x GWP over 100 years (AIM Act exchange value)",
        source="published: 40 CFR 84.64 and 40 CFR 98 table A-1 (IPCC AR4, 2007)",
        compute=_climate,
        validity="the exchange value of the American law; other laws count with other values",
        needs_refrigerant=True,
    ),
)
