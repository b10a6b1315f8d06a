"""One program at a time works on a job: a row that says which."""

from __future__ import annotations

import os
from datetime import UTC, datetime

from expert.host import machine, runs
from expert.made_when_used import dataclass
from expert.store.database import Database
from expert.store.store_errors import JobBusyError

_TAKE = (
    "INSERT INTO lease (job, token, pid, host, since) VALUES (:job, :token, :pid, :host, :since) "
    "ON CONFLICT (job) DO UPDATE SET token = excluded.token, pid = excluded.pid, "
    "host = excluded.host, since = excluded.since"
)


@dataclass(frozen=True)
class Holder:
    """A program that may hold a job. `token` tells two of one process apart."""

    token: str
    pid: int
    host: str

    @classmethod
    def this_one(cls) -> Holder:
        """The program that asks."""
        return cls(os.urandom(8).hex(), os.getpid(), machine())


def take(database: Database, job_id: str, holder: Holder, *, take_over: bool = False) -> None:
    """Hold a job, inside a transaction. Raises JobBusyError where another program holds it.

    A program that no longer runs on this machine holds nothing; one on another machine cannot be
    asked, so it is only replaced with `take_over`.
    """
    found = database.rows(
        "SELECT token, pid, host, since FROM lease WHERE job = :job", {"job": job_id}
    )
    for token, pid, host, since in found:
        if token == holder.token:
            return
        if not take_over and (host != holder.host or runs(pid)):
            raise JobBusyError(
                f"Job {job_id} is open in another program (process {pid} on {host}, since "
                f"{since[:16].replace('T', ' ')} UTC). Close it there, or take the job over."
            )
    values = {
        "job": job_id, "token": holder.token, "pid": holder.pid, "host": holder.host,
        "since": datetime.now(UTC).isoformat(),
    }  # fmt: skip
    database.run(_TAKE, values)


def give_back(database: Database, holder: Holder) -> None:
    """Hold nothing any more, inside a transaction."""
    database.run("DELETE FROM lease WHERE token = :token", {"token": holder.token})
