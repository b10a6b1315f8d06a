"""Looking up what earlier jobs of a site left for a new one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, TypeVar

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
from expert.procedure.picture import OPENING, fold
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
_AT_ONCE = 200  # of what is asked in one statement; SQLite joins up to 500 queries
Quantities = Mapping[str, Quantity]
Each = TypeVar("Each")


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
    wanted = {
        (name, key): subjects
        for name in names
        for key, subjects in _where(site, subject, quantities[name])
    }
    found = _rows(store, site, wanted)
    beside = _beside(store, {row[0] for rows in found.values() for row in rows}, quantities)
    return {
        (name, key): tuple(_earlier(row, _but(name, beside.get(row[0], {}))) for row in rows)
        for (name, key), rows in found.items()
    }


def _beside(
    store: JobStore, jobs: Iterable[str], quantities: Quantities
) -> dict[str, dict[str, tuple[str, Measure]]]:
    """By job and quantity, title and value of the temperatures of the site, as read first."""
    asked = {
        each.id: each.title for each in quantities.values()
        if each.subject == "site" and each.kind is Kind.TEMPERATURE
    }  # fmt: skip
    found: dict[str, dict[str, tuple[str, Measure]]] = {}
    for some in _some(sorted(jobs)):
        named, values = _listed("job", some)
        asking, names = _listed("name", list(asked))
        query = (
            f"SELECT f.job, f.name, e.data {_WITH_ENTRY} WHERE f.topic = :topic "
            f"AND f.job IN ({named}) AND f.name IN ({asking}) ORDER BY f.at, f.seq"
        )
        for job, name, text in store.database.rows(query, {"topic": READING, **values, **names}):
            of_job = found.setdefault(job, {})
            if name not in of_job and isinstance(value := measured(json.loads(text)), Measure):
                of_job[name] = asked[name], value
    return found


def _but(name: str, beside: Mapping[str, tuple[str, Measure]]) -> tuple[tuple[str, Measure], ...]:
    return tuple(pair for other, pair in beside.items() if other != name)


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


def _rows(
    store: JobStore, site: Site, wanted: Mapping[tuple[str, str], tuple[str, ...]]
) -> dict[tuple[str, str], Rows]:
    """By what is wanted: job, data, time and person of its newest readings on some subjects.

    Many are asked for in one statement: to a server each costs the way there and back.
    """
    there = _read_at(store, site, sorted({name for name, _ in wanted}))
    pairs = list(
        dict.fromkeys(
            (name, each)
            for (name, _), of in wanted.items() for each in of if (name, each) in there
        )
    )  # fmt: skip
    newest: dict[tuple[str, str], list[tuple[Any, ...]]] = {}
    for some in _some(pairs):
        values: dict[str, object] = {"place": place_of(site.name), "topic": READING}
        parts = []
        for number, (name, each) in enumerate(some):
            values |= {f"n{number}": name, f"s{number}": each}
            parts.append(
                f"SELECT * FROM (SELECT {number} AS part, at, job, seq FROM fact "  # noqa: S608
                f"WHERE place = :place AND topic = :topic AND name = :n{number} "
                f"AND subject = :s{number} ORDER BY at DESC LIMIT {MOST_EARLIER}) AS p{number}"
            )
        for part, *row in store.database.rows(" UNION ALL ".join(parts), values):
            newest.setdefault(some[part], []).append(tuple(row))
    chosen = {
        (name, key): sorted(row for each in of for row in newest.get((name, each), ()))[
            : -MOST_EARLIER - 1 : -1
        ]
        for (name, key), of in wanted.items()
    }
    whole = _entries(store, {(job, seq) for rows in chosen.values() for _, job, seq in rows})
    return {key: [whole[job, seq] for _, job, seq in rows] for key, rows in chosen.items() if rows}


def _read_at(store: JobStore, site: Site, names: Sequence[str]) -> set[tuple[str, str]]:
    """Quantity and subject of all that was ever read of some quantities at a site.

    The index is stepped through from one subject to the next, so that many jobs cost no more.
    """
    of = "SELECT min(f.subject) FROM fact f WHERE f.place = :place AND f.topic = :topic"
    found = set()
    for some in _some(names):
        values: dict[str, object] = {f"n{number}": name for number, name in enumerate(some)}
        query = (
            f"WITH RECURSIVE w(name) AS (VALUES {', '.join(f'(:{each})' for each in values)}), "  # noqa: S608
            f"t(name, subject) AS (SELECT w.name, ({of} AND f.name = w.name) FROM w "
            f"UNION ALL SELECT t.name, ({of} AND f.name = t.name AND f.subject > t.subject) "
            "FROM t WHERE t.subject IS NOT NULL) "
            "SELECT name, subject FROM t WHERE subject IS NOT NULL"
        )
        values |= {"place": place_of(site.name), "topic": READING}
        found |= {(str(name), str(each)) for name, each in store.database.rows(query, values)}
    return found


def _entries(
    store: JobStore, wanted: Iterable[tuple[str, int]]
) -> dict[tuple[str, int], tuple[Any, ...]]:
    """Job, data, time and person of entries, by job and number."""
    found = {}
    for some in _some(sorted(wanted)):
        values: dict[str, object] = {}
        for number, (job, seq) in enumerate(some):
            values |= {f"j{number}": job, f"q{number}": seq}
        named = " OR ".join(f"(e.job = :j{n} AND e.seq = :q{n})" for n in range(len(some)))
        query = (
            f"SELECT e.seq, e.job, e.data, e.at, {_WHO} FROM entry e "  # noqa: S608
            f"JOIN job j ON j.id = e.job WHERE {named}"
        )
        for seq, *row in store.database.rows(query, values):
            found[row[0], seq] = tuple(row)
    return found


def _some(values: Sequence[Each]) -> Iterator[Sequence[Each]]:
    for start in range(0, len(values), _AT_ONCE):
        yield values[start : start + _AT_ONCE]


def _listed(word: str, values: Sequence[str]) -> tuple[str, dict[str, object]]:
    """The names of parameters, for a list in a statement, and the values they stand for."""
    named = {f"{word}{number}": value for number, value in enumerate(values)}
    return ", ".join(f":{each}" for each in named), dict(named)


def _earlier(row: tuple[Any, ...], beside: tuple[tuple[str, Measure], ...]) -> Earlier:
    job, text, at, who = row
    data = json.loads(text)
    taken = data.get("taken")
    when = datetime.fromisoformat(taken if isinstance(taken, str) else at)
    stage, way = (str(data.get(name, "")) for name in ("stage", "way"))
    return Earlier(when, measured(data), who, job, stage, beside, way)


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
        "SELECT id, uid, subject, who, last FROM job WHERE site = :site AND finished IS NULL "  # noqa: S608
        f"ORDER BY created DESC LIMIT {MOST_UNFINISHED}"
    )
    rows = store.database.rows(query, {"site": site_name})
    entries = store.entries_of([row[0] for row in rows], kind=OPENING)
    for job, uid, subject, who, last in rows:
        for text in fold(entries[job]).still_open:
            said = f"Not put back, as far as is known: {text}"
            key = f"not put back:{uid}:{text}"
            at = datetime.fromisoformat(last)
            yield OpenItem(key, "not put back", subject, said, at, job, who)


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
    near = {subject.id, subject.rack, "site", *site.above(subject)}
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
