"""The embedded job file: opened, quickly checked, and written in one durable transaction at a time.

Write-ahead log and full synchronisation: a committed entry survives a killed process and, as far
as the disk tells the truth, a power cut.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from expert.store.backup import Backups
from expert.store.schema import APPLICATION, VERSION, tables
from expert.store.store_errors import StoreError

if TYPE_CHECKING:
    import tempfile

WAIT = 5.0  # s, for another program's transaction
CHECKED_WHOLE = 4_000_000  # bytes; a larger file would take longer to check than opening may
_NOTHING: Mapping[str, object] = {}
_RESCUE = "'rackwalk jobs rescue FILE' takes out what can still be read"


class SqliteDatabase:
    """A job file. Where it cannot be written it is read, and `read_only` says why."""

    def __init__(self, path: Path, connection: sqlite3.Connection, read_only: str = "") -> None:
        self.name = str(path)
        self.path = path
        self.folder = path.parent
        self.read_only = read_only
        self.connection = connection
        self.copy: tempfile.TemporaryDirectory[str] | None = None
        self.backups: Backups | None = None
        self.identity = _identity(path)

    def rows(
        self, statement: str, values: Mapping[str, object] = _NOTHING
    ) -> list[tuple[Any, ...]]:
        """What a query gives."""
        try:
            return self.connection.execute(statement, values).fetchall()
        except (sqlite3.Error, UnicodeError) as error:
            raise StoreError(f"The job file {self.name} could not be read ({error}).") from error

    def run(self, statement: str, values: Mapping[str, object] = _NOTHING) -> None:
        """One change, inside a transaction, which tells its errors."""
        self.connection.execute(statement, values)

    def run_many(self, statement: str, values: Iterable[Mapping[str, object]]) -> None:
        """The same change with many values."""
        self.connection.executemany(statement, values)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Everything inside is written together or not at all."""
        if self.read_only:
            raise StoreError(f"Not saved: {self.read_only}")
        if self.copy is None and _identity(self.path) != self.identity:
            raise StoreError(
                f"Not saved: the job file {self.path} was moved, replaced or deleted meanwhile. "
                "Put it back and resume the job."
            )
        with transaction(self.connection):
            yield

    def check(self) -> list[str]:
        """Everything that a full check finds; reads the whole file."""
        found = [str(row[0]) for row in self.rows("PRAGMA integrity_check(20)")]
        return [] if found == ["ok"] else found

    def close(self) -> None:
        """Close the file; a backup under way is waited for."""
        if self.backups is not None:
            self.backups.wait()
        self.connection.close()
        if self.copy is not None:
            self.copy.cleanup()


def _identity(path: Path) -> tuple[int, int] | None:
    """What tells a file from another one of its name; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Everything inside is written together or not at all. Raises StoreError."""
    try:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            if connection.in_transaction:  # a full disk may have ended it already
                connection.execute("ROLLBACK")
            raise
        connection.execute("COMMIT")
    except (sqlite3.Error, UnicodeError) as error:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise StoreError(f"Not saved: the job file could not be written ({error}).") from error


def open_sqlite(path: Path) -> SqliteDatabase:
    """The job file, made where there is none. Raises StoreError with a clear sentence."""
    try:
        existed = path.is_file() and path.stat().st_size > 0
    except OSError:
        existed = False
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not existed:  # for its owner only
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        connection = _connect(f"{path}")
    except (OSError, sqlite3.Error) as error:
        if existed:
            return _reading(path, f"{path} cannot be written ({_told(error)}).")
        raise StoreError(
            f"Cannot open the job file {path}: {_told(error)}. '--jobs FOLDER', or the variable "
            "RACKWALK_HOME, names another place."
        ) from None
    try:
        created = _prepare(connection, path)
    except sqlite3.OperationalError as error:
        connection.close()
        if existed:
            return _reading(path, f"{path} cannot be written ({error}).")
        raise StoreError(f"Cannot use the job file {path}: {error}.") from None
    except (sqlite3.DatabaseError, UnicodeError) as error:
        connection.close()
        return _reading(path, _damaged(path, str(error)), damaged=True)
    except StoreError:
        connection.close()
        raise
    if found := _quick_check(connection, path):
        connection.close()
        return _reading(path, _damaged(path, found), damaged=True)
    database = SqliteDatabase(path, connection)
    if not created:
        database.backups = Backups(path)
    return database


def _connect(address: str, *, uri: bool = False) -> sqlite3.Connection:
    return sqlite3.connect(address, timeout=WAIT, isolation_level=None, uri=uri)


def _prepare(connection: sqlite3.Connection, path: Path) -> bool:
    """Settings, tables and form; whether the file was made just now."""
    version = _pragma(connection, "user_version")
    if version or _tables(connection):
        refuse_stranger(connection, path)  # before anything of its file is changed
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    if version == 0 and not _tables(connection):
        _create(connection)
        return True
    refuse_stranger(connection, path)
    # read-only file or folder: told now and not at the first answer
    connection.execute("BEGIN IMMEDIATE")
    connection.execute("ROLLBACK")
    if version < VERSION:
        from expert.store.migrate import migrate

        migrate(connection, path, version)
    return False


def refuse_stranger(connection: sqlite3.Connection, path: Path) -> None:
    """Raises StoreError for another program's database, and for one of a newer rackwalk."""
    if _pragma(connection, "application_id") != APPLICATION:
        raise StoreError(f"{path} is a database of another program. Choose another folder.")
    if (version := _pragma(connection, "user_version")) > VERSION:
        raise StoreError(
            f"{path} was written by a newer rackwalk (form {version}, this one reads {VERSION}). "
            "Update rackwalk; nothing was changed."
        )


def _quick_check(connection: sqlite3.Connection, path: Path) -> str:
    """What is wrong with the file; of a large one only the list of jobs is checked."""
    try:
        large = path.stat().st_size > CHECKED_WHOLE
        pragma = "PRAGMA quick_check('job')" if large else "PRAGMA quick_check(3)"
        found = [str(row[0]) for row in connection.execute(pragma)]
    except (OSError, sqlite3.Error, UnicodeError) as error:
        return str(error)
    return "" if found == ["ok"] else "; ".join(found)


def _create(connection: sqlite3.Connection) -> None:
    with transaction(connection):
        if _tables(connection):  # another program was quicker
            return
        for statement in tables(sqlite=True):
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def _reading(path: Path, why: str, *, damaged: bool = False) -> SqliteDatabase:
    """The file opened for reading only, with what its write-ahead log holds."""
    import shutil
    import tempfile

    message = why if damaged else f"{why} What was recorded can be read; nothing new can be kept."
    attempts = (f"{path.resolve().as_uri()}?mode=ro", "", f"{path.resolve().as_uri()}?immutable=1")
    for address in attempts:
        with ExitStack() as opened:
            copy: tempfile.TemporaryDirectory[str] | None = None
            try:
                if not address:
                    # without a place for its shared memory the log cannot be read where it lies
                    copy = tempfile.TemporaryDirectory(prefix="rackwalk-")
                    opened.callback(copy.cleanup)
                    for name in (path.name, f"{path.name}-wal"):
                        if (beside := path.with_name(name)).is_file():
                            shutil.copyfile(beside, Path(copy.name) / name)
                    connection = _connect(str(Path(copy.name) / path.name))
                else:
                    connection = _connect(address, uri=True)
                opened.callback(connection.close)
                refuse_stranger(connection, path)
                if _pragma(connection, "user_version") != VERSION:
                    raise StoreError(
                        f"{why} It is of an older form and can only be read once changed."
                    )
                connection.execute("SELECT count(*) FROM job").fetchone()
            except (OSError, sqlite3.Error, UnicodeError):
                continue
            opened.pop_all()  # it stays open
            database = SqliteDatabase(path, connection, message)
            database.copy = copy
            return database
    raise StoreError(why)


def _told(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _pragma(connection: sqlite3.Connection, name: str) -> int:
    return int(connection.execute(f"PRAGMA {name}").fetchone()[0])


def _tables(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])


def _damaged(path: Path, what: str) -> str:
    short = " ".join(what.replace("*** in database main ***", "").split())[:120]
    return (
        f"The job file {path} is damaged or not a job file ({short}). Nothing was changed. "
        f"{_RESCUE} (FILE is {path}); or put back a copy from its folder 'backups'."
    )
