"""What was kept of jobs, as it is found again: by id, by what they share, entry by entry."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from expert.errors import nearest
from expert.procedure.entries import Entry
from expert.store.chain import FIELDS, HEAD, first_broken, root_of, text_hash
from expert.store.database import Database, Rows
from expert.store.entry_rows import entries_from
from expert.store.job_row import HASHED, SELECT_JOB, TEXT, Job, job_of
from expert.store.store_errors import NoSuchJobError


class KeptJobs:
    """The jobs of a database, read."""

    def __init__(self, database: Database) -> None:
        self.database = database

    @property
    def folder(self) -> Path:
        """Where reports lie unless another place is named."""
        return self.database.folder

    @property
    def read_only(self) -> str:
        """Why nothing can be kept, in a sentence; empty where it can."""
        return self.database.read_only

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
        rows = self.database.rows(f"SELECT {HASHED} FROM job j {order}")  # noqa: S608
        return tuple(
            job_of((*row[:TEXT], texts.get(row[TEXT], ""), *row[TEXT + 1 :])) for row in rows
        )

    def sites(self) -> tuple[str, ...]:
        """The names of all sites on which there are jobs."""
        rows = self.database.rows("SELECT DISTINCT site FROM job ORDER BY site")
        return tuple(str(row[0]) for row in rows)

    def family(self, uid: str) -> tuple[Job, ...]:
        """A job and its other histories, by the uid it has on every machine."""
        query = f"{SELECT_JOB} WHERE j.uid = :uid OR j.branch_of = :uid ORDER BY j.id"
        return tuple(map(job_of, self.database.rows(query, {"uid": uid})))

    def get(self, job_id: str) -> Job:
        """A job by its id or the beginning that only it has. Raises NoSuchJobError."""
        rows = self.database.rows(f"{SELECT_JOB} WHERE j.id = :job", {"job": job_id})
        if rows:
            return job_of(rows[0])
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
        rows = self.database.rows(f"{SELECT_JOB} WHERE j.id = :job", {"job": stem})
        return job_of(rows[0]) if rows and start and job_of(rows[0]).uid.startswith(start) else None

    def namesakes(self, job: Job) -> tuple[Job, ...]:
        """Other histories of a job, and jobs that came in with its id from other machines."""
        stem = job.id.removesuffix(f".{job.uid[:6]}")
        query = (
            f"{SELECT_JOB} WHERE substr(j.id, 1, :length) = :stem AND j.id <> :own ORDER BY j.id"
        )
        values = {"stem": f"{stem}.", "length": len(stem) + 1, "own": job.id}
        found = [each for each in self.family(job.branch_of or job.uid) if each.id != job.id]
        same = [job_of(row) for row in self.database.rows(query, values)]
        if stem != job.id:
            rows = self.database.rows(f"{SELECT_JOB} WHERE j.id = :stem", {"stem": stem})
            same += map(job_of, rows)
        return tuple({each.id: each for each in (*found, *same)}.values())

    def _exists(self, job_id: str) -> bool:
        return bool(self.database.rows("SELECT 1 FROM job WHERE id = :job", {"job": job_id}))


def _some(names: list[str], most: int = 6) -> str:
    more = [f"{len(names) - most} more"] if len(names) > most else []
    return " or ".join([*names[:most], *more])
