"""A log of entries that a test can look at."""

from __future__ import annotations

from datetime import datetime

from expert.procedure.entries import Entry


class MemoryLog:
    """Keeps entries in a list."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.finished: list[datetime | None] = []

    def append(self, job_id: str, *entries: Entry) -> None:
        self.entries.extend(entries)

    def finish(self, job_id: str, at: datetime | None) -> None:
        self.finished.append(at)
