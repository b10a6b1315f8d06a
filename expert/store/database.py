"""The SQLite file: opened, checked, and written to in one durable transaction at a time."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from expert.store.errors import StoreError

VERSION = 1
APPLICATION = 0x7261636B  # 'rack'
WAIT = 5.0  # s, for another program's transaction
_SCHEMA = (
    """CREATE TABLE job (
        id TEXT PRIMARY KEY,
        checklist TEXT NOT NULL, checklist_revision TEXT NOT NULL, checklist_hash TEXT NOT NULL,
        rulebase TEXT NOT NULL, rulebase_version TEXT NOT NULL, rulebase_hash TEXT NOT NULL,
        site TEXT NOT NULL, site_text TEXT NOT NULL, subject TEXT NOT NULL,
        units TEXT NOT NULL, who TEXT NOT NULL, created TEXT NOT NULL, finished TEXT
    )""",
    """CREATE TABLE entry (
        job TEXT NOT NULL REFERENCES job (id), seq INTEGER NOT NULL,
        at TEXT NOT NULL, kind TEXT NOT NULL, step TEXT NOT NULL, data TEXT NOT NULL,
        PRIMARY KEY (job, seq)
    ) WITHOUT ROWID""",
    """CREATE TABLE lease (
        job TEXT PRIMARY KEY REFERENCES job (id),
        token TEXT NOT NULL, pid INTEGER NOT NULL, host TEXT NOT NULL, since TEXT NOT NULL
    )""",
)


def open_database(path: Path) -> sqlite3.Connection:
    """The checked job file, made where there is none. Raises StoreError with a clear sentence.

    Write-ahead log and full synchronisation: a committed entry survives a killed process and,
    as far as the disk tells the truth, a power cut.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
    except (OSError, sqlite3.Error) as error:
        raise StoreError(f"Cannot open the job file {path}: {error}.") from None
    try:
        _prepare(connection, path)
    except sqlite3.OperationalError as error:
        connection.close()
        raise StoreError(f"Cannot use the job file {path}: {error}.") from None
    except sqlite3.DatabaseError as error:
        connection.close()
        raise StoreError(_damaged(path, str(error))) from None
    except StoreError:
        connection.close()
        raise
    return connection


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Everything inside is written together or not at all. Raises StoreError."""
    try:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")
    except sqlite3.Error as error:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise StoreError(f"Not saved: the job file could not be written ({error}).") from error


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    version = _pragma(connection, "user_version")
    if version == 0 and not _tables(connection):
        _create(connection)
        return
    if _pragma(connection, "application_id") != APPLICATION:
        raise StoreError(f"{path} is a database of another program. Choose another folder.")
    if version != VERSION:
        raise StoreError(
            f"{path} was written by a newer rackwalk (form {version}, this one reads {VERSION}). "
            "Update rackwalk; nothing was changed."
        )
    found = [str(row[0]) for row in connection.execute("PRAGMA quick_check(3)")]
    if found != ["ok"]:
        raise StoreError(_damaged(path, "; ".join(found)))


def _create(connection: sqlite3.Connection) -> None:
    with transaction(connection):
        if _tables(connection):  # another program was quicker
            return
        for statement in _SCHEMA:
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])


def _tables(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])


def _damaged(path: Path, what: str) -> str:
    return (
        f"The job file {path} is damaged or not a job file ({what}). Nothing was changed. "
        "Move it away, together with the files of the same name ending in -wal and -shm, and put "
        "back a copy, or go on with a new file."
    )
