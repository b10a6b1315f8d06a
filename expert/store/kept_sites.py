"""Stores kept with the jobs: each change is a version with who, when and why; none is removed.

The table is made when the first store is kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from expert.store.database import Database
from expert.store.store_errors import StoreError

TABLE = (
    "CREATE TABLE IF NOT EXISTS kept_site ("
    "name TEXT NOT NULL, version INTEGER NOT NULL, at TEXT NOT NULL, who TEXT NOT NULL, "
    "why TEXT NOT NULL, text TEXT NOT NULL, PRIMARY KEY (name, version))"
)
_KEEP = (
    "INSERT INTO kept_site (name, version, at, who, why, text) "
    "VALUES (:name, :version, :at, :who, :why, :text)"
)
_ALL = "SELECT name, version, at, who, why, text FROM kept_site ORDER BY name, version"


@dataclass(frozen=True)
class KeptSite:
    """One version of a store: the text of its site file, who kept it, when and why."""

    name: str
    version: int
    at: datetime
    who: str
    why: str
    text: str


def versions(database: Database) -> dict[str, list[KeptSite]]:
    """Every version of every store by its name, the oldest first."""
    try:
        rows = database.rows(_ALL)
    except StoreError:  # no table: none was kept yet
        return {}
    found: dict[str, list[KeptSite]] = {}
    for name, version, at, who, why, text in rows:
        kept = KeptSite(name, version, datetime.fromisoformat(at), who, why, text)
        found.setdefault(name, []).append(kept)
    return found


def _is_there(database: Database) -> bool:
    try:
        database.rows("SELECT max(version) FROM kept_site")
    except StoreError:
        return False
    return True


def kept_sites(database: Database) -> dict[str, KeptSite]:
    """The newest version of every store by its name."""
    return {name: each[-1] for name, each in versions(database).items()}


def keep_site(
    database: Database, name: str, text: str, *, at: datetime, who: str, why: str, after: int
) -> KeptSite:
    """Keep a store as the version that follows `after` (0: it is new).

    Raises StoreError where another version was kept meanwhile.
    """
    kept = KeptSite(name, after + 1, at, who, why, text)
    there = _is_there(database)  # a technician on a server may write into it, and make none
    with database.transaction():
        if not there:
            database.run(TABLE)
        found = database.rows(
            "SELECT max(version) FROM kept_site WHERE name = :name", {"name": name}
        )
        if (found[0][0] or 0) != after:
            raise StoreError(
                f"The store '{name}' was changed by another program meanwhile; nothing was kept. "
                "Look at it ('rackwalk site show') and change it again."
            )
        values = {
            "name": name, "version": kept.version, "at": at.isoformat(), "who": who, "why": why,
            "text": text,
        }  # fmt: skip
        database.run(_KEEP, values)
    return kept
