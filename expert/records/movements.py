"""What the jobs say of refrigerant: amounts that were moved, and what followed.

Read from the entries in force, whatever the order in which they were made or corrected.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction

from expert.procedure.active import id_of
from expert.procedure.corrections import Correction, corrections
from expert.procedure.entries import Entry
from expert.procedure.picture import Picture, fold
from expert.records.amounts import exact_pounds
from expert.records.record_roles import ADDED, FULL_CHARGE, RECOVERED, RecordRoles


@dataclass(frozen=True)
class Movement:
    """One amount [lb] that was added, recovered, or is the full charge from a day on.

    `system` is the rack, `at` when it was entered, `key` its step in the job. `same_leak` says
    that it belongs to what the same job added before it. `corrected` is what stood there before;
    an amount that was corrected to zero has 0 lb and counts nowhere.
    """

    system: str
    day: date
    kind: str
    pounds: Fraction
    written: str
    at: datetime
    job: str
    key: str
    who: str = ""
    cylinder: str = ""
    reason: str = ""
    certificate: str = ""
    checklist: str = ""
    same_leak: bool = False
    corrected: tuple[Correction, ...] = ()


@dataclass(frozen=True)
class Happening:
    """Something that follows an addition: a repair, a verification, an inspection."""

    system: str
    day: date
    what: str
    at: datetime
    job: str
    who: str = ""


@dataclass(frozen=True)
class JobSource:
    """A job as the log needs it. `racks` gives the rack of every subject of the site."""

    job: str
    checklist: str
    subject: str
    who: str
    racks: Mapping[str, str]
    set_aside: Collection[str] = ()


def moved(source: JobSource, entries: Iterable[Entry], roles: RecordRoles) -> list[Movement]:
    """Every amount of a job that is in force, without those of steps that no longer apply."""
    listed = tuple(entries)
    picture = fold(listed)
    found = sorted(_moved(source, picture, roles), key=lambda each: (each.day, each.key))
    began = [each for each in found if each.kind == ADDED and not each.same_leak]
    changed = corrections(listed)
    return [
        replace(
            each, same_leak=each.same_leak and any(_before(one, each) for one in began),
            corrected=tuple(one for one in changed if _of_entry(one, each, roles)),
        )
        for each in found
    ]  # fmt: skip


def _of_entry(one: Correction, movement: Movement, roles: RecordRoles) -> bool:
    """Whether a correction is of a movement: of its amount or of what stands beside it."""
    if movement.checklist == roles.entry["checklist"]:
        return True
    step = id_of(movement.key)
    beside = {f"{step}-{name}{movement.key[len(step) :]}" for name in _BESIDE}
    return one.step == movement.key or one.step in beside


def _before(one: Movement, other: Movement) -> bool:
    return one.system == other.system and one.day <= other.day


def happened(source: JobSource, entries: Iterable[Entry], roles: RecordRoles) -> list[Happening]:
    """What a job says of repairs, verifications and inspections."""
    return [
        Happening(_rack(source, entry), local_day(entry), meaning, entry.at, source.job, source.who)
        for entry in _answers(source, fold(entries))
        if (meaning := roles.happenings.get((entry.text("quantity"), str(entry.data["value"]))))
    ]


def local_day(entry: Entry) -> date:
    """The day of an entry where it is read; the law's days are calendar days."""
    return (entry.time("taken") or entry.at).astimezone().date()


def _moved(source: JobSource, picture: Picture, roles: RecordRoles) -> Iterator[Movement]:
    for entry in _answers(source, picture):
        quantity, value = entry.text("quantity"), entry.data["value"]
        if not isinstance(value, int | float):
            continue
        if quantity == roles.entry["amount"]:
            kind = _named(picture, roles.entry["kind"])
            day = _day(_named(picture, roles.entry["day"])) or local_day(entry)
            same_leak = False
        elif amount := roles.amounts.get(quantity):
            kind, day, same_leak = amount.kind, local_day(entry), amount.same_leak
        else:
            continue
        pounds = exact_pounds(entry.text("text"), value)
        struck = pounds == 0 and len([e for e in picture.history(entry.step) if e.closes]) > 1
        if not (pounds > 0 or struck) or kind not in (ADDED, RECOVERED, FULL_CHARGE):
            continue
        beside = {name: _beside(picture, source, entry.step, name) for name in _BESIDE}
        reason = beside["reason"] or beside["recovery-reason"]
        if kind == FULL_CHARGE:
            reason = _named(picture, roles.how)
        yield Movement(
            _rack(source, entry), day, kind, pounds, entry.text("text"), entry.at, source.job,
            entry.step, source.who or entry.who, beside["cylinder"], reason, beside["certificate"],
            source.checklist, same_leak,
        )  # fmt: skip


_BESIDE = ("cylinder", "certificate", "reason", "recovery-reason")


def _answers(source: JobSource, picture: Picture) -> Iterator[Entry]:
    for entry in picture.closed.values():
        if entry.kind == "answer" and entry.step not in source.set_aside:
            yield entry


def _beside(picture: Picture, source: JobSource, key: str, name: str) -> str:
    """The answer of the step 'x-name' that stands beside the step 'x'."""
    step = id_of(key)
    other = f"{step}-{name}{key[len(step) :]}"
    entry = picture.closed.get(other)
    aside = entry is None or other in source.set_aside or entry.kind != "answer"
    return "" if aside or entry is None else str(entry.data["value"])


def _named(picture: Picture, quantity: str) -> str:
    """The answer to a quantity that a job asks once."""
    for entry in picture.closed.values():
        if entry.kind == "answer" and entry.text("quantity") == quantity:
            return str(entry.data["value"])
    return ""


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _rack(source: JobSource, entry: Entry) -> str:
    subject = entry.text("subject") or source.subject
    return source.racks.get(subject) or subject
