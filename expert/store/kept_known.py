"""What is known in finished jobs as text, a row a job: made in the transaction that finishes it.

A row counts while the job has as many entries as it was made from; it can be made again from them
at any time, and what another store has made is never taken in: only entries are sealed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from expert.procedure.log import KnownText
from expert.store.database import Database, Writer

_KEEP = (
    "INSERT INTO known (job, entries, frame, data) VALUES (:job, :entries, :frame, :data) "
    "ON CONFLICT (job) DO UPDATE SET entries = :entries, frame = :frame, data = :data"
)
_IN_STEP = (
    "SELECT k.job, k.frame, k.data FROM known k JOIN job j ON j.id = k.job "
    "AND j.entries = k.entries WHERE j.finished IS NOT NULL AND k.job IN ({})"
)


def keep_known(database: Writer, job: str, entries: int, known: KnownText) -> None:
    """Keep what is known in a job of so many entries, inside a transaction."""
    values = {"job": job, "entries": entries, "frame": known.frame, "data": known.text}
    database.run(_KEEP, values)


def kept_known(database: Database, jobs: Sequence[str]) -> dict[str, KnownText]:
    """What is kept of some jobs and still counts."""
    named: Mapping[str, str] = {f"j{number}": job for number, job in enumerate(jobs)}
    rows = database.rows(_IN_STEP.format(", ".join(f":{name}" for name in named)), named)
    return {str(job): KnownText(str(frame), str(text)) for job, frame, text in rows if jobs}


def carry_on(database: Database, job: str, before: int, after: int) -> None:
    """Summary and known values go on with a job to which only was added what they do not hold."""
    values = {"job": job, "before": before, "after": after}
    with database.transaction():
        database.run(
            "INSERT INTO summary (job, entries, version, made, data) SELECT job, :after, version, "
            "made, data FROM summary WHERE job = :job AND entries = :before ON CONFLICT DO NOTHING",
            values,
        )
        database.run(
            "UPDATE known SET entries = :after WHERE job = :job AND entries = :before", values
        )
