"""Jobs and their entries on disk."""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterable
from dataclasses import astuple, dataclass, fields
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from expert.errors import nearest
from expert.procedure.entries import Entry
from expert.store import lease
from expert.store.database import open_database, transaction
from expert.store.errors import JobBusyError, NoSuchJobError, StoreError


@dataclass(frozen=True)
class Job:
    """What a job was started with. `finished` is None while steps are left.

    The whole site file is kept as text, so that the job can be judged again years later.
    `entries` and `last` count what was entered and say when last; the store fills them in.
    """

    checklist: str
    checklist_revision: str
    checklist_hash: str
    rulebase: str
    rulebase_version: str
    rulebase_hash: str
    site: str
    site_text: str
    subject: str
    units: str
    who: str
    created: datetime
    finished: datetime | None = None
    id: str = ""
    entries: int = 0
    last: datetime | None = None


_BATCH = 100
_STORED = [field.name for field in fields(Job)][:-3]
_COLUMNS = ", ".join(_STORED)
_SELECT = (
    f"SELECT {', '.join(f'job.{name}' for name in _STORED)}, job.id, count(entry.seq), "  # noqa: S608
    "max(entry.at) FROM job LEFT JOIN entry ON entry.job = job.id"
)


class JobStore:
    """The job file. Safe for several programs, one of them at a time on a job."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._connection = open_database(path)
        self._holder = lease.Holder.this_one()

    def create(self, job: Job) -> str:
        """Keep a new job and hold it; gives its id: day, subject, and a number from the second."""
        with transaction(self._connection):
            job_id = self._insert(job)
            lease.take(self._connection, job_id, self._holder)
        return job_id

    def _insert(self, job: Job) -> str:
        stem = f"{job.created:%Y-%m-%d}-{re.sub(r'[^A-Za-z0-9]+', '-', job.subject).strip('-')}"
        values = [
            value.isoformat() if isinstance(value, datetime) else value
            for value in astuple(job)[: len(_STORED)]
        ]
        marks = ", ".join("?" for _ in range(len(_STORED) + 1))
        number, job_id = 1, stem
        while self._exists(job_id):
            number += 1
            job_id = f"{stem}-{number}"
        self._connection.execute(
            f"INSERT INTO job ({_COLUMNS}, id) VALUES ({marks})",  # noqa: S608
            (*values, job_id),
        )
        return job_id

    def hold(self, job_id: str, *, take_over: bool = False) -> None:
        """Hold a job before working on it. Raises JobBusyError where another program does."""
        with transaction(self._connection):
            lease.take(self._connection, job_id, self._holder, take_over=take_over)

    def append(self, job_id: str, entry: Entry) -> None:
        """Keep one entry; when this returns, it is on disk. Raises JobBusyError or StoreError."""
        data = _json(entry)
        with transaction(self._connection):
            lease.take(self._connection, job_id, self._holder)
            have = self._connection.execute(
                "SELECT coalesce(max(seq), 0) FROM entry WHERE job = ?", (job_id,)
            ).fetchone()[0]
            if entry.seq != have + 1:
                raise JobBusyError(
                    f"Job {job_id} has {have} entries on disk and number {entry.seq} was to be "
                    "added: another program has worked on it. Resume the job to go on from there."
                )
            self._connection.execute(
                "INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?)",
                (job_id, entry.seq, entry.at.isoformat(), entry.kind, entry.step, data),
            )

    def add_all(self, jobs: Iterable[tuple[Job, Iterable[Entry]]]) -> int:
        """Keep whole jobs, many in a transaction; gives the number of entries."""
        waiting, added = iter(jobs), 0
        while batch := list(islice(waiting, _BATCH)):
            with transaction(self._connection):
                for job, entries in batch:
                    job_id = self._insert(job)
                    rows = [
                        (job_id, each.seq, each.at.isoformat(), each.kind, each.step, _json(each))
                        for each in entries
                    ]
                    self._connection.executemany(
                        "INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?)", rows
                    )
                    added += len(rows)
        return added

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Note when a job was finished, or (None) that it is open again."""
        with transaction(self._connection):
            lease.take(self._connection, job_id, self._holder)
            self._connection.execute(
                "UPDATE job SET finished = ? WHERE id = ?", (at.isoformat() if at else None, job_id)
            )

    def entries(self, job_id: str) -> tuple[Entry, ...]:
        """Every entry of a job in order."""
        rows = self._read(
            "SELECT seq, at, kind, step, data FROM entry WHERE job = ? ORDER BY seq", (job_id,)
        )
        try:
            return tuple(
                Entry(seq, datetime.fromisoformat(at), kind, step, json.loads(data))
                for seq, at, kind, step, data in rows
            )
        except ValueError as error:
            raise StoreError(f"Job {job_id} holds an entry that cannot be read: {error}.") from None

    def jobs(self) -> tuple[Job, ...]:
        """Every job, the one worked on last first."""
        order = "GROUP BY job.id ORDER BY coalesce(max(entry.at), job.created) DESC, job.id DESC"
        return tuple(_job(row) for row in self._read(f"{_SELECT} {order}"))

    def get(self, job_id: str) -> Job:
        """A job by its id or the beginning that only it has. Raises NoSuchJobError."""
        rows = self._read(f"{_SELECT} WHERE job.id = ? GROUP BY job.id", (job_id,))
        if rows:
            return _job(rows[0])
        known = [str(row[0]) for row in self._read("SELECT id FROM job ORDER BY id")]
        begins = [each for each in known if job_id and each.startswith(job_id)]
        if len(begins) == 1:
            return self.get(begins[0])
        if begins:
            raise NoSuchJobError(f"'{job_id}' could be {' or '.join(begins)}.")
        hint = nearest(job_id, known) if known else "No job has been started yet."
        raise NoSuchJobError(f"There is no job '{job_id}'. {hint}".rstrip())

    def close(self) -> None:
        """Give back what is held and close the file."""
        try:
            with transaction(self._connection):
                lease.give_back(self._connection, self._holder)
        finally:
            self._connection.close()

    def __enter__(self) -> JobStore:
        return self

    def __exit__(self, *reason: object) -> None:
        self.close()

    def _exists(self, job_id: str) -> bool:
        query = "SELECT 1 FROM job WHERE id = ?"
        return self._connection.execute(query, (job_id,)).fetchone() is not None

    def _read(self, query: str, values: tuple[str, ...] = ()) -> list[tuple[Any, ...]]:
        try:
            return self._connection.execute(query, values).fetchall()
        except sqlite3.Error as error:
            raise StoreError(f"The job file {self.path} could not be read ({error}).") from error


def _json(entry: Entry) -> str:
    return json.dumps(dict(entry.data), ensure_ascii=False, allow_nan=False)


def _job(row: tuple[Any, ...]) -> Job:
    found = dict(zip([*_STORED, "id", "entries", "last"], row, strict=True))
    for name in ("created", "finished", "last"):
        found[name] = datetime.fromisoformat(str(found[name])) if found[name] else None
    return Job(**found)
