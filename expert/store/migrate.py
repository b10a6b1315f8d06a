"""From an older form of the job file to the present one, in one transaction, after a copy."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from expert.procedure.entries import Entry
from expert.store import facts
from expert.store.backup import FOLDER, copy_to
from expert.store.schema import FACT, JOB, JOB_INDEXES, SITE_FILE
from expert.store.store_errors import StoreError

_MOVE = """INSERT INTO job_2 SELECT id, job_uid(id, created, who, subject, site_text), '',
    checklist, checklist_revision, checklist_hash, rulebase, rulebase_version, rulebase_hash,
    site, text_hash(site_text), subject, units, who, created, finished,
    (SELECT count(*) FROM entry WHERE entry.job = job.id),
    (SELECT max(at) FROM entry WHERE entry.job = job.id) FROM job"""


def text_hash(text: str) -> str:
    """The content hash of a text."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


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
        if int(connection.execute("PRAGMA user_version").fetchone()[0]) == 1:
            _one_to_two(connection)
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    finally:
        connection.execute("PRAGMA foreign_keys = ON")


def _one_to_two(connection: sqlite3.Connection) -> None:
    connection.create_function("text_hash", 1, text_hash, deterministic=True)
    connection.create_function("job_uid", 5, old_uid, deterministic=True)
    connection.execute(SITE_FILE)
    connection.execute(
        "INSERT OR IGNORE INTO site_file SELECT text_hash(site_text), site_text FROM job"
    )
    connection.execute(JOB.format(name="job_2"))
    connection.execute(_MOVE)
    connection.execute("DROP TABLE job")
    connection.execute("ALTER TABLE job_2 RENAME TO job")
    for statement in (*JOB_INDEXES, *FACT):
        connection.execute(statement.format(without_rowid=" WITHOUT ROWID"))
    _index(connection)
    connection.execute("PRAGMA user_version = 2")


class _Plain:
    """As much of a database as the index needs, over a bare connection."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.run = connection.execute
        self.run_many = connection.executemany


def _index(connection: sqlite3.Connection) -> None:
    select = "SELECT seq, at, kind, step, data FROM entry WHERE job = ? ORDER BY seq"
    with closing(connection.cursor()) as cursor:
        jobs = cursor.execute("SELECT id, site, subject FROM job").fetchall()
        for job_id, site, subject in jobs:
            entries = [
                Entry(seq, datetime.fromisoformat(at), kind, step, json.loads(data))
                for seq, at, kind, step, data in cursor.execute(select, (job_id,))
            ]
            facts.index_all(_Plain(connection), job_id, site, subject, entries)
