"""The same store on a PostgreSQL server, for a company; needs the extra `postgres`.

Imported only when a connection address is given: the library takes longer to load than the
embedded store may take to open.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from expert.store.migrate import steps_from
from expert.store.schema import APPLICATION, VERSION, tables
from expert.store.store_errors import StoreError
from expert.user_folders import of_user

try:
    from sqlalchemy import create_engine, text
    from sqlalchemy.engine import URL, Connection, make_url
    from sqlalchemy.exc import ArgumentError, SQLAlchemyError
    from sqlalchemy.pool import NullPool
except ImportError:
    raise StoreError(
        "Jobs on a PostgreSQL server need more than is installed: "
        "pip install 'rackwalk[postgres]', or leave out the address to use the job file."
    ) from None

WAIT = 10  # s, for the server to answer
SCHEMA = "rackwalk"
# what 'rackwalk packs roles' gives on a table that came later than the roles
_RIGHTS = """DO $$ BEGIN
  IF EXISTS (SELECT FROM pg_roles WHERE rolname = 'rackwalk_technician') THEN
    GRANT SELECT, INSERT, UPDATE, DELETE ON known TO rackwalk_technician;
  END IF;
END $$"""
_FORM = "expected postgresql://user@host/database"
_NOTHING: Mapping[str, object] = {}


class PostgresDatabase:
    """Jobs on a server. Writers wait for one another, as with the embedded file."""

    def __init__(self, url: URL) -> None:
        self.name = url.render_as_string(hide_password=True)
        self.folder: Path = of_user("data")
        self.read_only = ""
        options = f"-c search_path={SCHEMA} -c synchronous_commit=on"
        engine = create_engine(
            url, poolclass=NullPool, connect_args={"connect_timeout": WAIT, "options": options}
        )
        self._inside = False
        try:
            self._connection: Connection = engine.connect()
        except ImportError as error:
            raise StoreError(f"Cannot open {self.name}: {error}.") from None
        except SQLAlchemyError as error:
            raise StoreError(f"Cannot reach the job server {self.name}: {_told(error)}") from None

    def rows(
        self, statement: str, values: Mapping[str, object] = _NOTHING
    ) -> list[tuple[Any, ...]]:
        """What a query gives."""
        try:
            if self._inside:
                return self._rows(statement, values)
            with self._connection.begin():
                return self._rows(statement, values)
        except SQLAlchemyError as error:
            raise StoreError(f"{self.name} could not be read: {_told(error)}") from error

    def _rows(self, statement: str, values: Mapping[str, object]) -> list[tuple[Any, ...]]:
        return [tuple(row) for row in self._connection.execute(text(statement), dict(values))]

    def run(self, statement: str, values: Mapping[str, object] = _NOTHING) -> None:
        """One change, inside a transaction, which tells its errors."""
        self._connection.execute(text(statement), dict(values))

    def run_many(self, statement: str, values: Iterable[Mapping[str, object]]) -> None:
        """The same change with many values."""
        if rows := [dict(each) for each in values]:
            self._connection.execute(text(statement), rows)

    @contextmanager
    def transaction(self) -> Iterator[None]:
        """Everything inside is on the server's disk or nothing is; one writer at a time."""
        if self.read_only:
            raise StoreError(f"Not saved: {self.read_only}")
        try:
            with self._connection.begin():
                self.run("SELECT pg_advisory_xact_lock(:key)", {"key": APPLICATION})
                self._inside = True
                yield
        except (SQLAlchemyError, UnicodeError) as error:
            raise StoreError(f"Not saved on {self.name}: {_told(error)}") from error
        finally:
            self._inside = False

    def check(self) -> list[str]:
        """Nothing: the server looks after its own files."""
        return []

    def close(self) -> None:
        """Give the connection back."""
        self._connection.close()

    def prepare(self) -> None:
        """Make the tables where there are none. Raises StoreError for those of a newer form."""
        if self.rows("SELECT pg_is_in_recovery()")[0][0]:
            self.read_only = f"{self.name} is a copy that can only be read."
        elif not self._version():
            with self.transaction():
                if not self._version():  # another program was quicker
                    self._create()
        elif self._version() < VERSION:
            with self.transaction():
                reached = steps_from(self._version(), self)
                self.run(_RIGHTS)
                self.run("UPDATE form SET version = :version", {"version": reached})
        if (version := self._version()) != VERSION:
            raise StoreError(
                f"The jobs on {self.name} are of form {version}, this rackwalk reads {VERSION}. "
                "Update rackwalk; nothing was changed."
            )

    def _version(self) -> int:
        if self.rows("SELECT to_regclass('rackwalk.form')")[0][0] is None:
            return 0
        return int(self.rows("SELECT max(version) FROM form")[0][0] or 0)

    def _create(self) -> None:
        self.run(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}")
        for statement in tables(sqlite=False):
            self.run(statement)
        self.run("CREATE TABLE form (version INTEGER NOT NULL)")
        self.run("INSERT INTO form VALUES (:version)", {"version": VERSION})


def open_postgres(address: str) -> PostgresDatabase:
    """The jobs of a connection address. Raises StoreError with a clear sentence."""
    try:
        url = make_url(address).set(drivername="postgresql+psycopg")
    except (ArgumentError, ValueError):
        raise StoreError(f"The address of the jobs cannot be read; {_FORM}.") from None
    database = PostgresDatabase(url)
    try:
        database.prepare()
    except BaseException:
        database.close()
        raise
    return database


_NO_RIGHT = "42501"  # SQLSTATE: insufficient privilege
_ROLES = "The office gives the right one: 'rackwalk packs roles' prints what the server is told."


def _told(error: Exception) -> str:
    """The first line of what the server or its driver said, as a sentence."""
    original = getattr(error, "orig", None) or error
    said = f"{str(original).strip().split(chr(10))[0].rstrip('.')}."
    return f"{said} {_ROLES}" if getattr(original, "sqlstate", "") == _NO_RIGHT else said
