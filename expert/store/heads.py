"""The jobs of a store in one line each, to see at once which another store does not have so."""

from __future__ import annotations

from dataclasses import dataclass

from expert.store.database import Database


@dataclass(frozen=True)
class Head:
    """A job as far as another store asks: `state` changes with every entry and with its end."""

    id: str
    uid: str
    site: str
    state: str


def heads(database: Database) -> list[Head]:
    """Every job, the oldest first."""
    rows = database.rows("SELECT id, uid, site, chain, finished FROM job ORDER BY created, id")
    return [
        Head(str(job), str(uid), str(site), f"{chain} {finished or ''}")
        for job, uid, site, chain, finished in rows
    ]


def known(database: Database, other: str, way: str) -> dict[str, str]:
    """The state of each job, by uid, in which it was last exchanged with another store."""
    rows = database.rows(
        "SELECT uid, state FROM exchanged WHERE other = :other AND way = :way",
        {"other": other, "way": way},
    )
    return {str(uid): str(state) for uid, state in rows}


def exchanged_states(database: Database) -> set[tuple[str, str]]:
    """Uid and state of every job as some other store has it."""
    rows = database.rows("SELECT DISTINCT uid, state FROM exchanged")
    return {(str(uid), str(state)) for uid, state in rows}


def note(database: Database, other: str, way: str, head: Head) -> None:
    """Note that a job was exchanged as it is. Raises StoreError."""
    with database.transaction():
        database.run(
            "INSERT INTO exchanged (other, way, uid, state) VALUES (:other, :way, :uid, :state) "
            "ON CONFLICT (other, way, uid) DO UPDATE SET state = excluded.state",
            {"other": other, "way": way, "uid": head.uid, "state": head.state},
        )
