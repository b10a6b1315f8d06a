"""One program at a time works on a job: a row that says which."""

from __future__ import annotations

import os
import socket
import sqlite3
import sys
from dataclasses import dataclass
from datetime import UTC, datetime

from expert.store.errors import JobBusyError


@dataclass(frozen=True)
class Holder:
    """A program that may hold a job. `token` tells two of one process apart."""

    token: str
    pid: int
    host: str

    @classmethod
    def this_one(cls) -> Holder:
        """The program that asks."""
        return cls(os.urandom(8).hex(), os.getpid(), socket.gethostname())


def take(
    connection: sqlite3.Connection, job_id: str, holder: Holder, *, take_over: bool = False
) -> None:
    """Hold a job, inside a transaction. Raises JobBusyError where another program holds it.

    A program that no longer runs on this machine holds nothing; one on another machine cannot be
    asked, so it is only replaced with `take_over`.
    """
    row = connection.execute(
        "SELECT token, pid, host, since FROM lease WHERE job = ?", (job_id,)
    ).fetchone()
    if row is not None:
        token, pid, host, since = row
        if token == holder.token:
            return
        if not take_over and (host != holder.host or _runs(pid)):
            raise JobBusyError(
                f"Job {job_id} is open in another program (process {pid} on {host}, since "
                f"{since[:16].replace('T', ' ')} UTC). Close it there, or take the job over."
            )
    connection.execute(
        "INSERT OR REPLACE INTO lease VALUES (?, ?, ?, ?, ?)",
        (job_id, holder.token, holder.pid, holder.host, datetime.now(UTC).isoformat()),
    )


def give_back(connection: sqlite3.Connection, holder: Holder) -> None:
    """Hold nothing any more, inside a transaction."""
    connection.execute("DELETE FROM lease WHERE token = ?", (holder.token,))


def _runs(pid: int) -> bool:
    """Whether a process of this machine runs; yes where that cannot be told."""
    if sys.platform == "win32":  # there, signal 0 would end the process
        return True
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
