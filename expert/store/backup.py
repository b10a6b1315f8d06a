"""Dated copies of the job file: one a day when something was written since, the newest few kept.

They are made in a thread of their own with a connection of their own, so that nobody waits for
one before the first prompt. A copy that cannot be made is left out; the next day tries again.
"""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing, suppress
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread

from expert.host import runs

FOLDER = "backups"
KEPT = 7
ROOM = 3  # times the size of the file must be free, or a copy could fill the disk
_PAGES = 512  # copied at a time, so that a writer never waits long
_DATED = re.compile(r"-\d{4}-\d\d-\d\d\.db$")


class Backups:
    """Makes today's copy in the background where one is due."""

    def __init__(self, path: Path, today: datetime | None = None) -> None:
        self._path = path
        day = (today or datetime.now(UTC)).strftime("%Y-%m-%d")
        self._target = path.parent / FOLDER / f"{path.stem}-{day}.db"
        self._thread: Thread | None = None
        if self._due():
            self._thread = Thread(target=self._make, name="backup", daemon=True)
            self._thread.start()

    def wait(self) -> None:
        """Until the copy is made."""
        if self._thread is not None:
            self._thread.join()

    def _due(self) -> bool:
        try:
            written = max(
                each.stat().st_mtime
                for each in (self._path, self._path.with_name(f"{self._path.name}-wal"))
                if each.is_file()
            )
            copies = dated(self._path)
            return self._target not in copies and (
                not copies or copies[-1].stat().st_mtime < written
            )
        except (OSError, ValueError):
            return False

    def _make(self) -> None:
        with suppress(OSError, sqlite3.Error):
            from shutil import disk_usage

            if disk_usage(self._path.parent).free < ROOM * self._path.stat().st_size:
                return
            with closing(sqlite3.connect(self._path, timeout=5.0)) as source:
                copy_to(source, self._target)
            for old in dated(self._path)[:-KEPT]:
                old.unlink(missing_ok=True)
            for begun in (self._path.parent / FOLDER).glob(f"{self._path.stem}-*.part"):
                pid = begun.suffixes[-2].removeprefix(".")
                if not (pid.isdecimal() and runs(int(pid))):  # its program was killed over it
                    begun.unlink(missing_ok=True)


def dated(path: Path) -> list[Path]:
    """The dated copies of a job file, the oldest first."""
    found = (path.parent / FOLDER).glob(f"{path.stem}-*.db")
    return sorted(each for each in found if _DATED.search(each.name))


def copy_to(source: sqlite3.Connection, target: Path) -> None:
    """A copy, under its name only once it is whole and sound. Raises OSError or sqlite3.Error."""
    target.parent.mkdir(exist_ok=True)
    draft = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(draft)) as copy:
            source.backup(copy, pages=_PAGES)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file that can be moved alone
            found = copy.execute("PRAGMA quick_check(1)").fetchone()
        if found != ("ok",):
            raise sqlite3.DatabaseError("the copy is damaged")
        draft.replace(target)
    finally:
        draft.unlink(missing_ok=True)
