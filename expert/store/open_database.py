"""The database of a place: the embedded file, or a server."""

from __future__ import annotations

from pathlib import Path

from expert.store.database import Database
from expert.store.sqlite import open_sqlite


def open_database(place: Path | str) -> Database:
    """The database of a file, or (text) of a connection address. Raises StoreError."""
    if isinstance(place, str):
        from expert.store.postgres import open_postgres

        return open_postgres(place)
    return open_sqlite(place)
