"""What the company gave out, in its store: manifests with signatures, and the contents of packs.

A row is only ever added. Whether it can be trusted is not judged here.
"""

from __future__ import annotations

from expert.store.database import Database
from expert.store.store_errors import StoreError

_ADD = (
    "INSERT INTO release (id, number, manifest, signature, content) "
    "VALUES (:id, :number, :manifest, :signature, :content)"
)


def released(database: Database) -> list[tuple[str, str]]:
    """Manifest and signature of everything that was given out, the oldest first."""
    rows = database.rows("SELECT manifest, signature FROM release ORDER BY number")
    return [(str(manifest), str(signature)) for manifest, signature in rows]


def content(database: Database, release: str) -> str:
    """The content of a release. Raises StoreError where there is none."""
    rows = database.rows("SELECT content FROM release WHERE id = :id", {"id": release})
    if not rows:
        raise StoreError(f"{database.name} has no release {release[:12]}.")
    return str(rows[0][0])


def add_release(
    database: Database, release: str, manifest: str, signature: str, held: str, after: int
) -> None:
    """Give something out behind the `after` ones there were. Raises StoreError."""
    with database.transaction():
        ((count,),) = database.rows("SELECT count(*) FROM release")
        if count != after:
            raise StoreError("Something else was given out meanwhile; nothing was changed.")
        values = {
            "id": release, "number": after + 1, "manifest": manifest, "signature": signature,
            "content": held,
        }  # fmt: skip
        database.run(_ADD, values)
