"""Jobs found by what they hold, without reading all of them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime

from expert.made_when_used import dataclass
from expert.procedure.closing import KEY, TYPE
from expert.procedure.entries import Entry
from expert.store.database import Database
from expert.store.facts import CLOSED, OUTCOME, READING, place_of


@dataclass(frozen=True)
class Listed:
    """What a job was started with, without the text of its site."""

    id: str
    checklist: str
    site: str
    subject: str
    who: str
    branch_of: str
    created: datetime
    finished: datetime | None
    last: datetime | None
    entries: int


_LISTED = (
    "SELECT id, checklist, site, subject, who, branch_of, created, finished, last, entries FROM job"
)
_WITH = (
    "SELECT DISTINCT fact.job FROM fact JOIN job ON job.id = fact.job "
    "WHERE fact.place = :place AND fact.topic = :topic AND job.site = :site AND fact.name IN ({})"
)


def listed(database: Database, *, newest_first: bool = False) -> list[Listed]:
    """Every job, the oldest first; or the one worked on last first."""
    order = "coalesce(last, created) DESC, id DESC" if newest_first else "created, id"
    when = datetime.fromisoformat
    return [
        Listed(
            job, checklist, site, subject, who, branch_of,
            when(created), when(finished) if finished else None, when(last) if last else None,
            entries,
        )
        for job, checklist, site, subject, who, branch_of, created, finished, last, entries
        in database.rows(f"{_LISTED} ORDER BY {order}")
    ]  # fmt: skip


def last_finished(database: Database, site: str, subject: str, most: int) -> list[str]:
    """The ids of the finished jobs on some equipment, the one worked on last first."""
    statement = (
        "SELECT id FROM job WHERE site = :site AND subject = :subject AND finished IS NOT NULL "
        "ORDER BY coalesce(last, created) DESC, id DESC LIMIT :most"
    )
    values = {"site": site, "subject": subject, "most": most}
    return [str(row[0]) for row in database.rows(statement, values)]


def jobs_with_readings(database: Database, site: str, quantities: Sequence[str]) -> list[str]:
    """The ids of a site's jobs in which one of some quantities was read."""
    if not quantities:
        return []
    names = {f"n{number}": name for number, name in enumerate(quantities)}
    values: Mapping[str, object] = {
        "place": place_of(site), "topic": READING, "site": site, **names,
    }  # fmt: skip
    statement = _WITH.format(", ".join(f":{name}" for name in names))
    return sorted(str(row[0]) for row in database.rows(statement, values))


def closed_as(database: Database, only: Sequence[str] | None = None) -> dict[str, Entry]:
    """How each job ended that was closed without being done, by its id; `only` some are asked."""
    if only is not None and not only:
        return {}
    query = (
        "SELECT j.id, e.seq, e.at, e.data FROM job j "
        "JOIN fact f ON f.job = j.id AND f.step = :key AND f.topic = :topic "
        "JOIN entry e ON e.job = f.job AND e.seq = f.seq"
    )
    names = {f"n{number}": job for number, job in enumerate(only or ())}
    if only is not None:
        query += f" WHERE j.id IN ({', '.join(f':{name}' for name in names)})"
    rows = database.rows(query, {"key": KEY, "topic": CLOSED, **names})
    return {
        str(job): Entry(seq, datetime.fromisoformat(at), TYPE, KEY, json.loads(data))
        for job, seq, at, data in rows
    }


def outcomes(database: Database, site: str = "", subject: str = "") -> dict[str, list[Entry]]:
    """What was said of findings afterwards, by job; of one site and subject where given."""
    query = (
        "SELECT f.job, e.seq, e.at, e.kind, e.step, e.data, e.who FROM fact f "
        "JOIN entry e ON e.job = f.job AND e.seq = f.seq WHERE f.topic = :topic"
    )
    values: dict[str, object] = {"topic": OUTCOME}
    if site:
        query += " AND f.place = :place AND f.subject = :subject"
        values |= {"place": place_of(site), "subject": subject}
    found: dict[str, list[Entry]] = {}
    for job, seq, at, kind, step, data, who in database.rows(f"{query} ORDER BY f.at", values):
        entry = Entry(seq, datetime.fromisoformat(at), kind, step, json.loads(data), who)
        found.setdefault(str(job), []).append(entry)
    return found


def sites(database: Database) -> dict[str, str]:
    """The newest text of each site's file, by its name."""
    pairs = "SELECT site, max(created) FROM job GROUP BY site"
    found = {}
    for site, created in database.rows(pairs):
        rows = database.rows(
            "SELECT f.text FROM job j JOIN site_file f ON f.hash = j.site_hash "
            "WHERE j.site = :site AND j.created = :created ORDER BY j.id DESC LIMIT 1",
            {"site": site, "created": created},
        )
        found[str(site)] = str(rows[0][0])
    return dict(sorted(found.items()))
