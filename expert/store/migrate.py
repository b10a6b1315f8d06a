"""From an older form of the job store to the present one, step by step, on file and server alike.

`MIGRATIONS` has, for each form, what brings it to the next; they all run in one transaction. Of a
file a copy is kept first.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from expert.procedure.entries import Entry
from expert.store import facts
from expert.store.backup import FOLDER, copy_to
from expert.store.chain import FIELDS, HEAD, link, root_of, text_hash
from expert.store.database import Writer
from expert.store.schema import COMPANY, FACT, JOB_INDEXES, KNOWN, SITE_FILE
from expert.store.store_errors import StoreError

_JOB_2 = """CREATE TABLE job_2 (
    id TEXT PRIMARY KEY, uid TEXT NOT NULL UNIQUE, branch_of TEXT NOT NULL DEFAULT '',
    checklist TEXT NOT NULL, checklist_revision TEXT NOT NULL, checklist_hash TEXT NOT NULL,
    rulebase TEXT NOT NULL, rulebase_version TEXT NOT NULL, rulebase_hash TEXT NOT NULL,
    site TEXT NOT NULL, site_hash TEXT NOT NULL REFERENCES site_file (hash),
    subject TEXT NOT NULL, units TEXT NOT NULL, who TEXT NOT NULL,
    created TEXT NOT NULL, finished TEXT,
    entries INTEGER NOT NULL DEFAULT 0, last TEXT
)"""
_MOVE = """INSERT INTO job_2 SELECT id, job_uid(id, created, who, subject, site_text), '',
    checklist, checklist_revision, checklist_hash, rulebase, rulebase_version, rulebase_hash,
    site, text_hash(site_text), subject, units, who, created, finished,
    (SELECT count(*) FROM entry WHERE entry.job = job.id),
    (SELECT max(at) FROM entry WHERE entry.job = job.id) FROM job"""


class Old(Writer, Protocol):
    """A database of an older form, inside a transaction."""

    def rows(self, statement: str, values: Mapping[str, object] = ..., /) -> list[tuple[Any, ...]]:
        """What a query gives."""
        ...


class _File:
    """An open job file as the steps need it."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.run = connection.execute
        self.run_many = connection.executemany

    def rows(self, statement: str, values: Mapping[str, object] = {}) -> list[tuple[Any, ...]]:
        """What a query gives."""
        return self.connection.execute(statement, values).fetchall()


def old_uid(*parts: str) -> str:
    """The same on every machine that holds a copy of the same old job."""
    return text_hash("\0".join(parts))[:32]


def migrate(connection: sqlite3.Connection, path: Path, version: int) -> None:
    """Bring a file to the present form. Raises StoreError; then the file is as it was."""
    folder = path.parent / FOLDER
    try:
        copy_to(connection, folder / f"{path.stem}-form-{version}.db")
    except (OSError, sqlite3.Error) as error:
        raise StoreError(
            f"{path} is of an older form ({version}) and was left so: a copy could not be kept "
            f"first ({error})."
        ) from None
    connection.execute("PRAGMA foreign_keys = OFF")  # a table is replaced under its references
    connection.execute("BEGIN IMMEDIATE")
    try:
        # another program may have been quicker
        found = int(connection.execute("PRAGMA user_version").fetchone()[0])
        reached = steps_from(found, _File(connection))
        connection.execute(f"PRAGMA user_version = {reached}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    finally:
        connection.execute("PRAGMA foreign_keys = ON")


def steps_from(version: int, database: Old) -> int:
    """Take every step from a form on, inside a transaction; gives the form that was reached."""
    while version in MIGRATIONS:
        MIGRATIONS[version](database)
        version += 1
    return version


def _one_to_two(database: Old) -> None:
    """The text of a site once, a uid for each job, the index. There was no server yet."""
    assert isinstance(database, _File)
    connection = database.connection
    connection.create_function("text_hash", 1, text_hash, deterministic=True)
    connection.create_function("job_uid", 5, old_uid, deterministic=True)
    database.run(SITE_FILE)
    database.run("INSERT OR IGNORE INTO site_file SELECT text_hash(site_text), site_text FROM job")
    database.run(_JOB_2)
    database.run(_MOVE)
    database.run("DROP TABLE job")
    database.run("ALTER TABLE job_2 RENAME TO job")
    for statement in (*JOB_INDEXES, *FACT):
        database.run(statement.format(without_rowid=" WITHOUT ROWID"))
    _index(connection)


def _index(connection: sqlite3.Connection) -> None:
    select = "SELECT seq, at, kind, step, data FROM entry WHERE job = ? ORDER BY seq"
    with closing(connection.cursor()) as cursor:
        jobs = cursor.execute("SELECT id, site, subject FROM job").fetchall()
        for job_id, site, subject in jobs:
            entries = [
                Entry(seq, datetime.fromisoformat(at), kind, step, json.loads(data))
                for seq, at, kind, step, data in cursor.execute(select, (job_id,))
            ]
            facts.index_all(_File(connection), job_id, site, subject, entries)


def _two_to_three(database: Old) -> None:
    """Who entered what (unknown for what is there), and the hashes of `chain.py`."""
    database.run("ALTER TABLE entry ADD COLUMN who TEXT NOT NULL DEFAULT ''")
    database.run("ALTER TABLE entry ADD COLUMN hash TEXT NOT NULL DEFAULT ''")
    database.run("ALTER TABLE job ADD COLUMN chain TEXT NOT NULL DEFAULT ''")
    for job_id, *named in database.rows(f"SELECT id, {', '.join(HEAD)} FROM job"):  # noqa: S608
        chain = root_of(dict(zip(HEAD, named, strict=True)))
        query = f"SELECT {FIELDS} FROM entry WHERE job = :job ORDER BY seq"  # noqa: S608
        found = []
        for seq, at, kind, step, data, who in database.rows(query, {"job": job_id}):
            chain = link(chain, (seq, at, kind, step, data, who))
            found.append({"job": job_id, "seq": seq, "hash": chain})
        database.run_many("UPDATE entry SET hash = :hash WHERE job = :job AND seq = :seq", found)
        database.run("UPDATE job SET chain = :hash WHERE id = :job", {"job": job_id, "hash": chain})


def _three_to_four(database: Old) -> None:
    """What the company gave out, and what another store has."""
    for statement in COMPANY:
        database.run(statement)


def _four_to_five(database: Old) -> None:
    """What is known in finished jobs; of those that are there it is made when it is asked for."""
    database.run(KNOWN)


MIGRATIONS: Mapping[int, Callable[[Old], None]] = {
    1: _one_to_two,
    2: _two_to_three,
    3: _three_to_four,
    4: _four_to_five,
}
