"""Where the entries of a job are kept, as a session needs it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Protocol

from expert.procedure.entries import Entry


class Log(Protocol):
    """Where entries are kept. `append` returns only when they cannot be lost any more."""

    def append(self, job_id: str, *entries: Entry) -> None:
        """Keep what was entered in one go, all or nothing.

        Raises MovedOnError where something else was entered meanwhile.
        """
        ...

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Note that a job is finished, or (None) that it is open again."""
        ...


class WholeLog(Log, Protocol):
    """A log that takes several entries and the end of a job together or not at all."""

    def extend(self, job_id: str, entries: Iterable[Entry], finished: datetime | None) -> None:
        """Keep entries and note that the job is finished."""
        ...


class NothingKept:
    """A log that keeps nothing, to try something out."""

    def append(self, job_id: str, *entries: Entry) -> None:
        """Nothing."""

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Nothing."""
