"""Where the entries of a job are kept, as a session needs it, and what it notes at its end."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Protocol

from expert.made_when_used import dataclass
from expert.procedure.entries import Draft, Entry
from expert.procedure.picture import Picture


@dataclass(frozen=True)
class KnownText:
    """What is known in a finished job as text, and the name of the frame in which that holds."""

    frame: str
    text: str


@dataclass(frozen=True)
class Noted:
    """What a finished job notes of itself, and what is known in it; None where that is not told."""

    drafts: Sequence[Draft] = ()
    known: KnownText | None = None


Ending = Callable[[Picture], Noted]


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

    def extend(
        self, job_id: str, entries: Iterable[Entry], finished: datetime | None,
        known: KnownText | None = None,
    ) -> None:  # fmt: skip
        """Keep entries and note that the job is finished, with what is known in it then."""
        ...


class NothingKept:
    """A log that keeps nothing, to try something out."""

    def append(self, job_id: str, *entries: Entry) -> None:
        """Nothing."""

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Nothing."""
