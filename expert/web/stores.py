"""The job store for several threads: each has its own connection, and none holds a job."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable
from datetime import datetime

from expert.procedure.entries import Entry
from expert.procedure.log import KnownText
from expert.store.jobs import JobStore


class Stores:
    """A store of a company, opened once a thread; it is the log of every session of a page."""

    def __init__(self, opened: Callable[[], JobStore]) -> None:
        self._opened = opened
        self._own = threading.local()
        # a database lets one write at a time, and whoever waits there asks again later and later
        self._writing = threading.Lock()

    @property
    def here(self) -> JobStore:
        """The store of this thread."""
        store: JobStore | None = getattr(self._own, "store", None)
        if store is None:
            store = self._own.store = self._opened()
        return store

    def append(self, job_id: str, *entries: Entry) -> None:
        """Keep entries. Raises MovedOnError where others were added meanwhile."""
        with self._writing:
            self.here.append(job_id, *entries)

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Note that a job is finished, or open again."""
        with self._writing:
            self.here.finish(job_id, at)

    def extend(
        self, job_id: str, entries: Iterable[Entry], finished: datetime | None,
        known: KnownText | None = None,
    ) -> None:  # fmt: skip
        """Keep entries and the end of a job."""
        with self._writing:
            self.here.extend(job_id, entries, finished, known)

    def close(self) -> None:
        """Close the store of this thread."""
        store: JobStore | None = getattr(self._own, "store", None)
        if store is not None:
            self._own.store = None
            store.close()
