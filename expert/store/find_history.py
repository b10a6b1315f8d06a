"""Looking up what earlier jobs of a site left for a new one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from expert.knowledge.model import Quantity
from expert.knowledge.site import Site, Subject
from expert.procedure.checklist import MEASURING, Checklist
from expert.procedure.entries import Entry
from expert.procedure.history import (
    DONE,
    MOST_EARLIER,
    Earlier,
    History,
    OpenItem,
    PastOutcome,
    SetPoint,
    items_of,
    measured,
)
from expert.procedure.picture import fold
from expert.procedure.set_points import in_force
from expert.store.database import Rows
from expert.store.facts import LEFT, READING, SET, place_of
from expert.store.find_jobs import outcomes
from expert.store.jobs import JobStore
from expert.units.kinds import Kind
from expert.units.measure import Measure

_WITH_ENTRY = (
    "FROM fact f JOIN entry e ON e.job = f.job AND e.seq = f.seq JOIN job j ON j.id = f.job"
)
_WHO = "coalesce(nullif(e.who, ''), j.who)"  # entries of older forms do not say who
MOST_UNFINISHED = 20  # jobs that were never finished, the newest
Quantities = Mapping[str, Quantity]


def asked_in(checklist: Checklist) -> tuple[str, ...]:
    """The quantities that a checklist asks for, in order."""
    steps = (step for phase in checklist.all_phases for step in phase.steps)
    return tuple(
        dict.fromkeys(name for step in steps if step.type in MEASURING for name in step.quantities)
    )


def last_readings(
    store: JobStore, site: Site, subject: Subject, names: Iterable[str], quantities: Quantities
) -> dict[tuple[str, str], tuple[Earlier, ...]]:
    """By quantity and subject ('' for the job's own) the last few readings, the newest first.

    A reading belongs to what its quantity belongs to: one of the rack is found whichever of its
    circuits it was read on.
    """
    beside = _Beside(store, quantities)
    found: dict[tuple[str, str], tuple[Earlier, ...]] = {}
    for name in names:
        for key, subjects in _where(site, subject, quantities[name]):
            if rows := _rows(store, site, name, subjects):
                found[name, key] = tuple(_earlier(row, beside.of(row[0], name)) for row in rows)
    return found


class _Beside:
    """The temperatures of the site that were read in a job, looked up once for each job."""

    def __init__(self, store: JobStore, quantities: Quantities) -> None:
        self._store = store
        self._asked = [
            each for each in quantities.values()
            if each.subject == "site" and each.kind is Kind.TEMPERATURE
        ]  # fmt: skip
        self._found: dict[str, list[tuple[Quantity, Measure]]] = {}

    def of(self, job: str, name: str) -> tuple[tuple[str, Measure], ...]:
        """Title and value of each but the one that is asked itself."""
        if job not in self._found:
            self._found[job] = list(self._read(job))
        return tuple((each.title, value) for each, value in self._found[job] if each.id != name)

    def _read(self, job: str) -> Iterator[tuple[Quantity, Measure]]:
        query = (
            f"SELECT e.data {_WITH_ENTRY} WHERE f.job = :job AND f.topic = :topic "
            "AND f.name = :name ORDER BY f.at LIMIT 1"
        )
        for quantity in self._asked:
            values = {"job": job, "topic": READING, "name": quantity.id}
            for (text,) in self._store.database.rows(query, values):
                if isinstance(value := measured(json.loads(text)), Measure):
                    yield quantity, value


def _where(
    site: Site, subject: Subject, quantity: Quantity
) -> Iterator[tuple[str, tuple[str, ...]]]:
    members = site.members(subject) if subject.rack else ()
    if quantity.subject == "site":
        yield "", tuple(site.subjects)
    elif quantity.subject == "rack" and subject.rack:
        yield "", (subject.rack, *(each.id for each in members))
    else:
        yield "", (subject.id,)
        for each in members:
            if each.kind == quantity.subject and each.id != subject.id:
                yield each.id, (each.id,)


def _rows(store: JobStore, site: Site, name: str, subjects: tuple[str, ...]) -> Rows:
    """Job, data, time and person of the newest readings on some subjects."""
    query = (
        "SELECT at, job, seq FROM fact WHERE place = :place AND topic = :topic AND name = :name "  # noqa: S608
        f"AND subject = :subject ORDER BY at DESC LIMIT {MOST_EARLIER}"
    )
    values = {"place": place_of(site.name), "topic": READING, "name": name}
    newest = sorted(
        row for each in subjects for row in store.database.rows(query, {**values, "subject": each})
    )[: -MOST_EARLIER - 1 : -1]
    whole = (
        f"SELECT e.job, e.data, e.at, {_WHO} FROM entry e JOIN job j ON j.id = e.job "  # noqa: S608
        "WHERE e.job = :job AND e.seq = :seq"
    )
    return [
        row for _, job, seq in newest
        for row in store.database.rows(whole, {"job": job, "seq": seq})
    ]  # fmt: skip


def _earlier(row: tuple[Any, ...], beside: tuple[tuple[str, Measure], ...]) -> Earlier:
    job, text, at, who = row
    data = json.loads(text)
    taken = data.get("taken")
    when = datetime.fromisoformat(taken if isinstance(taken, str) else at)
    return Earlier(when, measured(data), who, job, str(data.get("stage", "")), beside)


def open_items(store: JobStore, site_name: str) -> tuple[OpenItem, ...]:
    """What stands open at a site, the oldest first."""
    found, done = _left(store, site_name)
    for item in _not_put_back(store, site_name):
        if item.key not in done:
            found.setdefault(item.key, item)
    return tuple(sorted(found.values(), key=lambda item: (str(item.since), item.key)))


def _left(store: JobStore, site_name: str) -> tuple[dict[str, OpenItem], set[str]]:
    """What finished jobs left, as it was said last, and what has been done since."""
    query = (
        f"SELECT f.name, e.at, f.job, {_WHO}, e.kind, e.data {_WITH_ENTRY} "
        "WHERE f.place = :place AND f.topic = :topic ORDER BY f.at, f.job, f.seq"
    )
    found: dict[str, OpenItem] = {}
    done: set[str] = set()
    values = {"place": place_of(site_name), "topic": LEFT}
    left: dict[tuple[str, str], dict[str, OpenItem]] = {}  # an entry is read once for all its items
    for key, at, job, who, kind, text in store.database.rows(query, values):
        if kind == "left":
            if (at, text) not in left:
                entry = Entry(0, datetime.fromisoformat(at), kind, "", json.loads(text))
                left[at, text] = {each.key: each for each in reversed(items_of(entry))}
            item = left[at, text][key]
            since = found[key].since if key in found else datetime.fromisoformat(at)
            found[key] = replace(item, since=since, job=job, who=who)
            done.discard(key)
        elif json.loads(text).get("answer") == DONE:
            found.pop(key, None)
            done.add(key)
    return found, done


def _not_put_back(store: JobStore, site_name: str) -> Iterator[OpenItem]:
    """What was opened in jobs that were never finished, and has not been put back in them."""
    query = (
        "SELECT id, uid, subject, who FROM job WHERE site = :site AND finished IS NULL "  # noqa: S608
        f"ORDER BY created DESC LIMIT {MOST_UNFINISHED}"
    )
    for job, uid, subject, who in store.database.rows(query, {"site": site_name}):
        picture = fold(store.entries(job))
        for text in picture.still_open:
            last = picture.entries[-1].at
            said = f"Not put back, as far as is known: {text}"
            key = f"not put back:{uid}:{text}"
            yield OpenItem(key, "not put back", subject, said, last, job, who)


def set_points(store: JobStore, site: Site) -> tuple[SetPoint, ...]:
    """The last value that a job gave to each value of a site, whether it still holds or not."""
    query = (
        f"SELECT f.name, f.subject, e.data, e.at, {_WHO}, f.job, f.step, j.checklist {_WITH_ENTRY} "
        "WHERE f.place = :place AND f.topic = :topic ORDER BY f.at"
    )
    rows = store.database.rows(query, {"place": place_of(site.name), "topic": SET})
    last = {(row[0], row[1]): row for row in rows}
    return tuple(_set_point(store, row) for row in last.values())


def _set_point(store: JobStore, row: tuple[Any, ...]) -> SetPoint:
    name, subject, text, at, who, job, step, checklist = row
    data = json.loads(text)
    notes = store.database.rows(
        "SELECT data FROM entry WHERE job = :job AND kind = 'note' AND step = :step ORDER BY seq",
        {"job": job, "step": step},
    )
    why = "; ".join(str(json.loads(note).get("text", "")) for (note,) in notes) or checklist
    return SetPoint(
        subject, name, data["value"], str(data["to"]), str(data["file"]),
        datetime.fromisoformat(at), who, job, why,
    )  # fmt: skip


def gather(
    store: JobStore, site: Site, subject: Subject, checklist: Checklist, quantities: Quantities
) -> tuple[History, tuple[SetPoint, ...]]:
    """What a new job is given, and the set points after which the site file was changed."""
    holding, overtaken = in_force(site, set_points(store, site))
    near = {subject.id, subject.rack, "site"}
    if subject.kind in ("rack", "site"):
        near |= {each.id for each in site.members(subject)}
    items = open_items(store, site.name)
    asked = tuple(item for item in items if item.subject in near)
    readings = last_readings(store, site, subject, asked_in(checklist), quantities)
    said = past_outcomes(store, site.name, subject.id)
    given = History(readings, asked, holding, len(items) - len(asked), outcomes=said)
    return given, overtaken


def past_outcomes(store: JobStore, site: str, subject: str) -> tuple[PastOutcome, ...]:
    """What the last findings on some equipment turned out to be, the newest first."""
    found = [
        PastOutcome(entry.at, _outcome_text(entry), entry.who, job)
        for job, entries in outcomes(store.database, site, subject).items()
        for entry in entries
    ]
    return tuple(sorted(found, key=lambda each: each.at, reverse=True)[:MOST_EARLIER])


def _outcome_text(entry: Entry) -> str:
    was = f"{entry.text('title') or 'nothing was found'}: {entry.text('answer')}"
    other = entry.text("actual_title")
    return f"{was}, {other}" if other and other != entry.text("title") else was
