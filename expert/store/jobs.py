"""Jobs and their entries, in whichever database they are kept."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import asdict
from datetime import datetime
from itertools import islice
from pathlib import Path

from expert.procedure.entries import Entry
from expert.procedure.log import KnownText
from expert.store import lease
from expert.store.chain import FIELDS, link, root_of, row_of, text_hash
from expert.store.entry_rows import follows
from expert.store.facts import add_facts, index_all
from expert.store.job_row import INSERT_JOB, Job
from expert.store.kept_jobs import KeptJobs
from expert.store.kept_known import keep_known
from expert.store.open_database import open_database
from expert.store.store_errors import JobBusyError, StoreError

_SITE = "INSERT INTO site_file (hash, text) VALUES (:hash, :text) ON CONFLICT (hash) DO NOTHING"
_ENTRY = (
    "INSERT INTO entry (job, seq, at, kind, step, data, who, hash) "
    "VALUES (:job, :seq, :at, :kind, :step, :data, :who, :hash)"
)
_COUNT = "UPDATE job SET entries = :entries, last = :last, chain = :chain WHERE id = :job"
_ROW = FIELDS.split(", ")
_BATCH = 100  # whole jobs in a transaction


class JobStore(KeptJobs):
    """The jobs of a file, or of a server. Safe for several programs, one at a time on a job.

    `beside` works on every job beside whoever holds it, and holds none itself.
    """

    def __init__(self, place: Path | str, *, beside: bool = False) -> None:
        super().__init__(open_database(place))
        self._always_beside = beside
        self._holder = lease.Holder.this_one()
        self._held = False
        self._beside: set[str] = set()

    def create(self, job: Job) -> str:
        """Keep a new job and hold it; gives its id: day, subject, and a number from the second."""
        with self.database.transaction():
            job_id = self._insert(job, ())
            self._lease(job_id)
        return job_id

    def hold(self, job_id: str, *, take_over: bool = False) -> None:
        """Hold a job before working on it. Raises JobBusyError where another program does."""
        with self.database.transaction():
            lease.take(self.database, job_id, self._holder, take_over=take_over)
        self._held = True
        self._beside.discard(job_id)

    def join(self, job_id: str) -> bool:
        """Work on a job beside the program that holds it, if any does; whether one did.

        What two programs enter follows one another: each is refused until it knows all that is
        kept. Where nobody holds the job it is held as by `hold`.
        """
        try:
            self.hold(job_id)
        except JobBusyError:
            self._beside.add(job_id)
            return True
        return False

    def append(self, job_id: str, *entries: Entry) -> None:
        """Keep entries, all or none; when this returns, they are on disk.

        Raises JobBusyError, MovedOnError or StoreError.
        """
        with self.database.transaction():
            self._lease(job_id)
            found = self.database.rows(
                "SELECT entries, site, subject, chain FROM job WHERE id = :job", {"job": job_id}
            )
            if not found:
                raise StoreError(f"Job {job_id} is no longer there.")
            have, site, subject, chain = found[0]
            follows(job_id, have, entries)
            self._entries(job_id, entries, chain)
            for entry in entries:
                add_facts(self.database, job_id, site, subject, entry)

    def _lease(self, job_id: str) -> None:
        if not self._always_beside and job_id not in self._beside:
            lease.take(self.database, job_id, self._holder)
            self._held = True

    def extend(
        self, job_id: str, entries: Iterable[Entry], finished: datetime | None,
        known: KnownText | None = None,
    ) -> None:  # fmt: skip
        """Keep entries that follow those a job has, all or none. Raises as `append` does.

        `known` is what is then known in the job; it is kept with them.
        """
        with self.database.transaction():
            self._lease(job_id)
            job = self.get(job_id)
            added = list(entries)
            follows(job_id, job.entries, added)
            self._entries(job_id, added, job.chain)
            index_all(self.database, job_id, job.site, job.subject, self.entries(job_id))
            self._finish(job_id, finished)
            if known is not None:
                keep_known(self.database, job_id, job.entries + len(added), known)

    def add_all(self, jobs: Iterable[tuple[Job, Iterable[Entry]]]) -> int:
        """Keep whole jobs, many in a transaction; gives the number of entries."""
        waiting, added = iter(jobs), 0
        while batch := list(islice(waiting, _BATCH)):
            with self.database.transaction():
                for job, entries in batch:
                    kept = tuple(entries)
                    self._insert(job, kept)
                    added += len(kept)
        return added

    def _insert(self, job: Job, entries: tuple[Entry, ...]) -> str:
        """A whole job, inside a transaction; its id, the one wanted where that is free."""
        stem = f"{job.created:%Y-%m-%d}-{re.sub(r'[^A-Za-z0-9]+', '-', job.subject).strip('-')}"
        job_id = job.id or stem
        if job.id and job.uid and self._exists(job.id):  # of another machine: both are found by it
            job_id = stem = f"{job.id}.{job.uid[:6]}"
        if self._exists(job_id):
            job_id = self._free(stem)
        site_hash = text_hash(job.site_text)
        values: dict[str, object] = {
            name: value.isoformat() if isinstance(value, datetime) else value
            for name, value in asdict(job).items()
        }
        values |= {"id": job_id, "site_hash": site_hash, "entries": 0, "last": None}
        values["uid"] = job.uid or os.urandom(16).hex()
        values["chain"] = root = root_of(values)
        values.pop("site_text")
        self.database.run(_SITE, {"hash": site_hash, "text": job.site_text})
        self.database.run(INSERT_JOB, values)
        self._entries(job_id, entries, root)
        if entries:
            index_all(self.database, job_id, job.site, job.subject, entries)
        return job_id

    def _entries(self, job_id: str, entries: Iterable[Entry], chain: str) -> None:
        """Entries after the one whose hash is given, and the counts of their job."""
        rows = []
        for entry in entries:
            row = row_of(entry)
            chain = link(chain, row)
            rows.append({**dict(zip(_ROW, row, strict=True)), "job": job_id, "hash": chain})
        if rows:
            self.database.run_many(_ENTRY, rows)
            last = rows[-1]
            counts = {"entries": last["seq"], "last": last["at"], "chain": chain, "job": job_id}
            self.database.run(_COUNT, counts)

    def remove(self, job_id: str) -> None:
        """Take a whole job out, with all that was made of it. Raises JobBusyError or StoreError."""
        with self.database.transaction():
            lease.take(self.database, job_id, self._holder)
            for table in ("fact", "summary", "known", "entry", "lease"):
                self.database.run(f"DELETE FROM {table} WHERE job = :job", {"job": job_id})  # noqa: S608
            self.database.run("DELETE FROM job WHERE id = :job", {"job": job_id})

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Note when a job was finished, or (None) that it is open again."""
        with self.database.transaction():
            self._lease(job_id)
            self._finish(job_id, at)

    def _finish(self, job_id: str, at: datetime | None) -> None:
        values = {"at": at.isoformat() if at else None, "job": job_id}
        self.database.run("UPDATE job SET finished = :at WHERE id = :job", values)

    def close(self) -> None:
        """Give back what is held and close the database."""
        try:
            if self._held:
                with self.database.transaction():
                    lease.give_back(self.database, self._holder)
        finally:
            self.database.close()

    def __enter__(self) -> JobStore:
        return self

    def __exit__(self, *reason: object) -> None:
        self.close()

    def _free(self, stem: str) -> str:
        """An id with a number, the first that no job has unless jobs were taken out."""
        last = step = 1
        while self._exists(f"{stem}-{last + step}"):
            last += step
            step *= 2
        while step > 1:
            step //= 2
            if self._exists(f"{stem}-{last + step}"):
                last += step
        return f"{stem}-{last + 1}"
