"""What a leak rate over the limit makes due, by when, and what of it was done.

The clocks are those of `physics/leak_law/clocks.py`; one addition over the limit starts them,
further ones before its repair change nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from expert.inference.sentences import first_up
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.leak_law.appliance import months_later
from expert.physics.leak_law.clocks import inspection, keep_records_until, repair_clock
from expert.physics.leak_law.eu_checks import eu_rules, leak_check
from expert.records.ledger import SystemLog
from expert.records.movements import Happening
from expert.records.record_roles import FOLLOW_UP, INITIAL, INSPECTION, OPENED, REPAIR
from expert.records.systems import EU
from expert.units.kinds import POUND

AFTER_REPAIR = "leak check after the repair"
_CHECKS = (INSPECTION, FOLLOW_UP)
PLAN, CHRONIC = "retrofit or retirement plan", "chronic leaker report"


@dataclass(frozen=True)
class Duty:
    """One thing that is due. `since` is the day that started its clock, `done` when it was done.

    `uid` is the same whenever the list is made, so that a calendar updates what it has.
    """

    site: str
    system: str
    what: str
    due: date
    since: date
    done: date | None
    note: str
    uid: str

    def overdue(self, today: date) -> bool:
        """Whether it is open and its last day is over."""
        return self.done is None and self.due < today

    @property
    def late(self) -> int:
        """By how many days it was done after its last day, 0 where in time or still open."""
        return max((self.done - self.due).days, 0) if self.done else 0


@dataclass(frozen=True)
class RepairRun:
    """One run of the repair clock: the day it began and what followed before the next one."""

    began: date
    repaired: date | None
    initial: date | None
    follow_up: date | None
    opened: bool


def duties(log: SystemLog, today: date) -> list[Duty]:
    """Everything that additions up to `today` made due, done or open, by last day."""
    if log.system.law == EU:
        return sorted(_eu_checks(log, today), key=lambda each: (each.due, each.what))
    found: list[Duty] = []
    clocks = list(clocks_of(log, today))
    for clock in clocks:
        found += _of_clock(log, clock)
    if clocks:
        found += _inspections(log, clocks[-1].began, today)
    found += _chronic(log, today)
    return sorted(found, key=lambda each: (each.due, each.what))


def clocks_of(log: SystemLog, today: date) -> Iterator[RepairRun]:
    """Each run of the repair clock, the earliest first."""
    days = sorted({line.movement.day for line in log.lines if line.over})
    started: RepairRun | None = None
    for day in (each for each in days if each <= today):
        if started is not None and (started.repaired is None or day <= started.repaired):
            continue
        started = _clock(log.happenings, day)
        yield started


def _clock(happenings: Sequence[Happening], began: date) -> RepairRun:
    def first(what: str, since: date | None) -> date | None:
        if since is None:
            return None
        days = (each.day for each in happenings if each.what == what and each.day >= since)
        return next(days, None)

    initial = first(INITIAL, began)
    opened = first(OPENED, began)
    emptied = opened is not None and initial is not None and opened <= initial
    return RepairRun(began, first(REPAIR, began), initial, first(FOLLOW_UP, initial), emptied)


def _of_clock(log: SystemLog, clock: RepairRun) -> Iterator[Duty]:
    times = repair_clock(clock.began, initial_passed=clock.initial)
    make = _DutyMaker(log, clock.began)
    yield make(REPAIR, times.repair_by, clock.repaired)
    yield make(INITIAL, times.initial_verification_by, clock.initial)
    if times.follow_up_by is not None:
        note = "Counts from normal operation where the circuit was emptied." if clock.opened else ""
        yield make(FOLLOW_UP, times.follow_up_by, clock.follow_up, note)
    note = "Only if the leaks are not repaired and verified in time."
    yield make(PLAN, times.plan_by, clock.follow_up, note)


def _inspections(log: SystemLog, since: date, today: date) -> Iterator[Duty]:
    """The next leak inspection, and the last one that was done."""
    unit = log.unit_on(since)
    look = inspection(unit, since) if unit else None
    if look is None:
        return
    make = _DutyMaker(log, since)
    note = (
        f"{first_up(look.how_often)} until {look.until}; none where automatic leak "
        "detection watches all of it."
    )
    due, number = look.first_by, 1
    for done in sorted({e.day for e in log.happenings if e.what == INSPECTION and e.day > since}):
        if done > today:
            break
        yield make(INSPECTION, due, done, note, number)
        due, number = look.next_by(done), number + 1
    if due <= _ends(since, look.every_months):
        yield make(INSPECTION, due, None, note, number)


def _eu_checks(log: SystemLog, today: date) -> Iterator[Duty]:
    """The leak checks of the European Union: those done, the next, and the one after a repair."""
    known = [line.movement.day for line in log.lines if line.movement.day <= today]
    charge = log.charge_on(today)
    if charge is None or not known:
        return
    rules = eu_rules()
    try:
        found = leak_check(log.system.refrigerant, float(charge.pounds) * POUND)
    except PhysicsError:
        return
    began = min(known)
    make = _DutyMaker(log, began)
    note = f"{rules.regulation}, {found.reason}. Half as often where a detection system watches it."
    checks = sorted({e.day for e in log.happenings if e.what in _CHECKS and began < e.day <= today})
    last, number = began, 1
    for done in checks:
        if due := found.due(last):
            yield make(INSPECTION, due, done, note, number)
        last, number = done, number + 1
    if due := found.due(last):
        yield make(INSPECTION, due, None, note, number)
    repaired = {e.day for e in log.happenings if e.what == REPAIR and e.day <= today}
    for number, day in enumerate(sorted(repaired), 1):
        after = months_later(day, int(rules.numbers["after_repair_months"]))
        checked = next((each for each in checks if each > day), None)
        yield make(AFTER_REPAIR, after, checked, f"{rules.regulation}.", number)


def _ends(since: date, every_months: int) -> date:
    """The last day of inspections after which no rate was over: the fourth whole quarter in a
    row, or a year; a rate over the limit in that time starts them again."""
    if every_months >= 12:
        return date(since.year + 1, 12, 31)
    quarter = date(since.year, 3 * ((since.month - 1) // 3) + 1, 1)
    return months_later(quarter, 15) - timedelta(days=1)


def _chronic(log: SystemLog, today: date) -> Iterator[Duty]:
    for year in sorted({one.on.year for one in log.additions if one.on <= today}):
        try:
            found = log.year(year)
        except PhysicsError:
            continue
        if found is None or found.report_by is None or not _covered(log, year):
            continue
        if today > keep_records_until(found.report_by):
            continue
        note = (
            f"{float(found.percent):.4g} % of the full charge was added in {year}. Whether the "
            "report was sent is not recorded here."
        )
        yield _DutyMaker(log, date(year, 1, 1))(CHRONIC, found.report_by, None, note)


def _covered(log: SystemLog, year: int) -> bool:
    return any(
        rate.programmes
        for line in log.lines
        if line.movement.day.year == year
        for rate in line.rates
    )


@dataclass(frozen=True)
class _DutyMaker:
    log: SystemLog
    since: date

    def __call__(
        self, what: str, due: date, done: date | None, note: str = "", number: int = 1
    ) -> Duty:
        system = self.log.system
        parts = (system.site, system.id, what, str(self.since), str(number))
        digest = hashlib.sha256("\0".join(parts).encode()).hexdigest()[:32]
        return Duty(system.site, system.id, what, due, self.since, done, note, f"{digest}@rackwalk")


def open_until(found: Iterable[Duty], until: date | None) -> list[Duty]:
    """The open ones, up to a day where one is given."""
    return [each for each in found if each.done is None and (until is None or each.due <= until)]
