"""Stores that are written quickly, and jobs to put into them."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.sqlite import SqliteDatabase

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def a_job(subject: str = "A4", who: str = "N. N.") -> Job:
    return Job(
        checklist="small-checkout", checklist_revision="1", checklist_hash="c0ffee",
        rulebase="small", rulebase_version="1.0", rulebase_hash="beef",
        site="Invented store", site_text="site: {name: Invented store}\n", subject=subject,
        units="us", who=who, created=NOON,
    )  # fmt: skip


def an_entry(seq: int, text: str) -> Entry:
    return Entry(seq, NOON, "note", "", {"text": text}, "N. N.")


def quick_store(path: Path) -> JobStore:
    """A job file that does not wait for the disk."""
    store = JobStore(path)
    assert isinstance(store.database, SqliteDatabase)
    store.database.connection.execute("PRAGMA synchronous = OFF")
    return store
