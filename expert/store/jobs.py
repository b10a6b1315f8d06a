"""Jobs and their entries, in whichever database they are kept."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, fields
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import Any

from expert.errors import nearest
from expert.made_when_used import dataclass
from expert.procedure.entries import Entry
from expert.procedure.log import KnownText
from expert.store import lease
from expert.store.chain import FIELDS, HEAD, first_broken, link, root_of, row_of, text_hash
from expert.store.database import Rows
from expert.store.entry_rows import entries_from, follows
from expert.store.facts import add_facts, index_all
from expert.store.kept_known import keep_known
from expert.store.open_database import open_database
from expert.store.store_errors import JobBusyError, NoSuchJobError, StoreError


@dataclass(frozen=True)
class Job:
    """What a job was started with. `finished` is None while steps are left.

    The whole site file is kept as text, so that the job can be judged again years later.
    The store fills in the rest: `entries` and `last` count what was entered and say when last;
    `uid` is the same for all copies of a job on all machines; `branch_of` is the uid of the job
    of which this is another history, continued elsewhere; `chain` the hash of the last entry.
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
    uid: str = ""
    branch_of: str = ""
    chain: str = ""


FILLED_IN = ("entries", "last", "chain")
_NAMES = [field.name for field in fields(Job)]
_COLUMNS = ", ".join(f"f.text AS {n}" if n == "site_text" else f"j.{n}" for n in _NAMES)
_SELECT = f"SELECT {_COLUMNS} FROM job j JOIN site_file f ON f.hash = j.site_hash"  # noqa: S608
_TEXT, _ID = _NAMES.index("site_text"), _NAMES.index("id")
_TIMES = [_NAMES.index(name) for name in ("created", "finished", "last")]
_HASHED = ", ".join("j.site_hash" if n == "site_text" else f"j.{n}" for n in _NAMES)
_STORED = [name for name in _NAMES if name != "site_text"] + ["site_hash"]
_INSERT = (
    f"INSERT INTO job ({', '.join(_STORED)}) "  # noqa: S608
    f"VALUES ({', '.join(f':{name}' for name in _STORED)})"
)
_SITE = "INSERT INTO site_file (hash, text) VALUES (:hash, :text) ON CONFLICT (hash) DO NOTHING"
_ENTRY = (
    "INSERT INTO entry (job, seq, at, kind, step, data, who, hash) "
    "VALUES (:job, :seq, :at, :kind, :step, :data, :who, :hash)"
)
_COUNT = "UPDATE job SET entries = :entries, last = :last, chain = :chain WHERE id = :job"
_ROW = FIELDS.split(", ")
_BATCH = 100  # whole jobs in a transaction


class JobStore:
    """The jobs of a file, or of a server. Safe for several programs, one at a time on a job.

    `beside` works on every job beside whoever holds it, and holds none itself.
    """

    def __init__(self, place: Path | str, *, beside: bool = False) -> None:
        self.database = open_database(place)
        self._always_beside = beside
        self._holder = lease.Holder.this_one()
        self._held = False
        self._beside: set[str] = set()

    @property
    def folder(self) -> Path:
        """Where reports lie unless another place is named."""
        return self.database.folder

    @property
    def read_only(self) -> str:
        """Why nothing can be kept, in a sentence; empty where it can."""
        return self.database.read_only

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
        self.database.run(_INSERT, values)
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

    def entries(self, job_id: str, after: int = 0) -> tuple[Entry, ...]:
        """Every entry of a job in order; those after so many."""
        rows = self.database.rows(
            f"SELECT {FIELDS} FROM entry WHERE job = :job AND seq > :after ORDER BY seq",  # noqa: S608
            {"job": job_id, "after": after},
        )
        return entries_from(job_id, rows)

    def entries_of(self, jobs: Sequence[str], kind: str = "") -> dict[str, tuple[Entry, ...]]:
        """Every entry of some jobs in order, in one look; those of one kind where it is given."""
        named = {f"j{number}": job for number, job in enumerate(jobs)}
        rows: dict[str, Rows] = {job: [] for job in jobs}
        query = (
            f"SELECT job, {FIELDS} FROM entry WHERE job IN ({', '.join(f':{n}' for n in named)}) "  # noqa: S608
            "AND :kind IN ('', kind) ORDER BY seq"
        )
        for job, *row in self.database.rows(query, {**named, "kind": kind}) if jobs else ():
            rows[job].append(tuple(row))
        return {job: entries_from(job, found) for job, found in rows.items()}

    def hashes(self, job_id: str) -> tuple[str, ...]:
        """The hash of every entry of a job, as it was kept."""
        rows = self.database.rows(
            "SELECT hash FROM entry WHERE job = :job ORDER BY seq", {"job": job_id}
        )
        return tuple(str(row[0]) for row in rows)

    def altered(self, job_id: str) -> str:
        """What of a job is not as it was written, in a sentence; empty where all is."""
        head = self.database.rows(
            f"SELECT {', '.join(HEAD)}, chain, entries, last FROM job WHERE id = :job",  # noqa: S608
            {"job": job_id},
        )[0]
        *named, chain, count, last = head
        rows = self.database.rows(
            f"SELECT {FIELDS}, hash FROM entry WHERE job = :job ORDER BY seq",  # noqa: S608
            {"job": job_id},
        )
        root = root_of(dict(zip(HEAD, named, strict=True)))
        broken = first_broken(root, ((tuple(row[:-1]), row[-1]) for row in rows))
        if broken is not None:
            what = f"entry {broken}" if broken > 1 else "its head or entry 1"
            return f"Job {job_id}: {what} is not as it was written."
        if (len(rows), rows[-1][-1] if rows else root) != (count, chain):
            return f"Job {job_id}: it ended with entry {count}, and {len(rows)} are there."
        if rows and rows[-1][1] != last:
            return f"Job {job_id}: its list says another time of its last entry."
        site = self.database.rows(
            "SELECT f.hash, f.text FROM job j JOIN site_file f ON f.hash = j.site_hash "
            "WHERE j.id = :job", {"job": job_id},
        )  # fmt: skip
        if not site or text_hash(str(site[0][1])) != site[0][0]:
            return f"Job {job_id}: the text of its site file is not as it was written."
        return ""

    def jobs(self) -> tuple[Job, ...]:
        """Every job, the one worked on last first."""
        # many jobs of a site share one text, which is read once
        texts = {row[0]: row[1] for row in self.database.rows("SELECT hash, text FROM site_file")}
        order = "ORDER BY coalesce(j.last, j.created) DESC, j.id DESC"
        rows = self.database.rows(f"SELECT {_HASHED} FROM job j {order}")  # noqa: S608
        return tuple(
            _job((*row[:_TEXT], texts.get(row[_TEXT], ""), *row[_TEXT + 1 :])) for row in rows
        )

    def sites(self) -> tuple[str, ...]:
        """The names of all sites on which there are jobs."""
        rows = self.database.rows("SELECT DISTINCT site FROM job ORDER BY site")
        return tuple(str(row[0]) for row in rows)

    def family(self, uid: str) -> tuple[Job, ...]:
        """A job and its other histories, by the uid it has on every machine."""
        query = f"{_SELECT} WHERE j.uid = :uid OR j.branch_of = :uid ORDER BY j.id"
        return tuple(map(_job, self.database.rows(query, {"uid": uid})))

    def get(self, job_id: str) -> Job:
        """A job by its id or the beginning that only it has. Raises NoSuchJobError."""
        rows = self.database.rows(f"{_SELECT} WHERE j.id = :job", {"job": job_id})
        if rows:
            return _job(rows[0])
        if found := self._by_uid(job_id):
            return found
        known = [str(row[0]) for row in self.database.rows("SELECT id FROM job ORDER BY id")]
        begins = [each for each in known if job_id and each.startswith(job_id)]
        if len(begins) == 1:
            return self.get(begins[0])
        if begins:
            raise NoSuchJobError(f"'{job_id}' could be {_some(begins)}.")
        hint = nearest(job_id, known) if known else "No job has been started yet."
        raise NoSuchJobError(f"There is no job '{job_id}'. {hint}".rstrip())

    def _by_uid(self, job_id: str) -> Job | None:
        """The job that has an id here and on another machine that id and the start of its uid."""
        stem, _, start = job_id.rpartition(".")
        rows = self.database.rows(f"{_SELECT} WHERE j.id = :job", {"job": stem})
        return _job(rows[0]) if rows and start and _job(rows[0]).uid.startswith(start) else None

    def namesakes(self, job: Job) -> tuple[Job, ...]:
        """Other histories of a job, and jobs that came in with its id from other machines."""
        stem = job.id.removesuffix(f".{job.uid[:6]}")
        query = f"{_SELECT} WHERE substr(j.id, 1, :length) = :stem AND j.id <> :own ORDER BY j.id"
        values = {"stem": f"{stem}.", "length": len(stem) + 1, "own": job.id}
        found = [each for each in self.family(job.branch_of or job.uid) if each.id != job.id]
        same = [_job(row) for row in self.database.rows(query, values)]
        if stem != job.id:
            rows = self.database.rows(f"{_SELECT} WHERE j.id = :stem", {"stem": stem})
            same += map(_job, rows)
        return tuple({each.id: each for each in (*found, *same)}.values())

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

    def _exists(self, job_id: str) -> bool:
        return bool(self.database.rows("SELECT 1 FROM job WHERE id = :job", {"job": job_id}))


def _some(names: list[str], most: int = 6) -> str:
    more = [f"{len(names) - most} more"] if len(names) > most else []
    return " or ".join([*names[:most], *more])


def _job(row: Sequence[Any]) -> Job:
    found = list(row)
    try:
        for place in _TIMES:
            found[place] = datetime.fromisoformat(str(found[place])) if found[place] else None
    except ValueError as error:
        raise StoreError(f"Job {found[_ID]} cannot be read: {error}.") from None
    return Job(*found)
