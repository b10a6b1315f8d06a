"""What was found in a job and how it was done, kept beside the job when it is finished.

A row is never changed: a job that is opened again and finished again gets another one. It counts
while the job has as many entries as it was made from, and can be made again at any time.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from expert.store.database import Database
from expert.store.store_errors import StoreError

_KEEP = (
    "INSERT INTO summary (job, entries, version, made, data) "
    "VALUES (:job, :entries, :version, :made, :data) ON CONFLICT DO NOTHING"
)
_IN_STEP = (
    "SELECT s.job, s.data FROM summary s JOIN job j ON j.id = s.job AND j.entries = s.entries "
    "WHERE s.version = :version"
)


def kept_summaries(database: Database, version: int, job: str = "") -> dict[str, str]:
    """The summary of each job (or of one) that is up to date, as text."""
    statement, values = _IN_STEP, {"version": version, "job": job}
    if job:
        statement += " AND s.job = :job"
    try:
        return {str(name): str(text) for name, text in database.rows(statement, values)}
    except StoreError:  # no table: none was kept yet
        return {}


def keep_summaries(
    database: Database, rows: Iterable[tuple[str, int, str]], version: int, made: datetime
) -> None:
    """Keep summaries: job, number of entries it was made from, text. Raises StoreError."""
    values = [
        {"job": job, "entries": entries, "version": version, "made": made.isoformat(), "data": text}
        for job, entries, text in rows
    ]
    with database.transaction():
        database.run_many(_KEEP, values)
