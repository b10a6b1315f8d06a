"""What of an entry is looked up later: last readings, what was left open, set points changed,
how a job was closed that was not done.

A row of `fact` says where such a thing stands, by site, name and subject; the entry itself holds
the rest. A correction takes the row of its step away and puts a new one in its place, so that the
index only knows what is in force. It is made from the entries and can be made again from them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime

from expert.procedure.entries import Entry
from expert.store.database import Writer

READING, LEFT, SET, CLOSED, OUTCOME = "reading", "left", "set", "closed", "outcome"
_INSERT = (
    "INSERT INTO fact (job, step, topic, name, subject, place, at, seq) "
    "VALUES (:job, :step, :topic, :name, :subject, :place, :at, :seq)"
)
_SETTLING = ("answer", "skip", "reopen", "adjust", "open", "left", "close", "outcome")


def place_of(site: str) -> int:
    """A number for the name of a site: short in an index, and the same on every machine."""
    return int.from_bytes(hashlib.sha256(site.encode()).digest()[:6], "big")


def ordered(at: datetime) -> str:
    """A time as text that sorts by time."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")


def add_facts(database: Writer, job_id: str, site: str, subject: str, entry: Entry) -> None:
    """Bring the index up to an entry, inside its transaction."""
    if entry.kind not in _SETTLING:
        return
    if entry.kind in ("reopen", "left") or entry.seq > 1:
        values = {"job": job_id, "step": entry.step}
        database.run("DELETE FROM fact WHERE job = :job AND step = :step", values)
    if rows := list(_rows(job_id, site, subject, entry)):
        database.run_many(_INSERT, rows)


def index_all(
    database: Writer, job_id: str, site: str, subject: str, entries: Iterable[Entry]
) -> None:
    """The index of a whole job, inside a transaction: only what is in force at its end."""
    database.run("DELETE FROM fact WHERE job = :job", {"job": job_id})
    last: dict[str, Entry] = {}
    for entry in entries:
        if entry.kind in _SETTLING:
            last[entry.step] = entry
    rows = [row for entry in last.values() for row in _rows(job_id, site, subject, entry)]
    database.run_many(_INSERT, rows)


def _rows(job_id: str, site: str, subject: str, entry: Entry) -> Iterator[Mapping[str, object]]:
    for topic, name, on in _facts(entry, subject):
        yield {
            "job": job_id, "step": entry.step, "topic": topic, "name": name, "subject": on,
            "place": place_of(site), "at": ordered(entry.at), "seq": entry.seq,
        }  # fmt: skip


def _facts(entry: Entry, subject: str) -> Iterator[tuple[str, str, str]]:
    on = entry.text("subject") or subject
    if entry.kind == "answer":
        if not entry.data.get("sample") and "?" not in entry.step:  # neither a watch nor a loop
            yield READING, entry.text("quantity"), on
    elif entry.kind == "adjust" and entry.text("sets"):
        yield SET, entry.text("sets"), entry.text("on") or on
    elif entry.kind == "outcome":
        yield OUTCOME, entry.text("cause"), entry.text("subject") or subject
    elif entry.kind == "close":
        yield CLOSED, entry.text("state"), on
    elif entry.kind == "open":
        yield LEFT, entry.text("item"), on
    elif entry.kind == "left":
        items = entry.data.get("items")
        for item in items if isinstance(items, list) else ():
            if isinstance(item, dict) and item.get("key"):
                yield LEFT, str(item["key"]), str(item.get("subject", ""))
