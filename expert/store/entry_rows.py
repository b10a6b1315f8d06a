"""Entries from the rows of the table, and whether they follow those that are there."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from expert.errors import MovedOnError
from expert.procedure.entries import Entry
from expert.store.database import Rows
from expert.store.store_errors import StoreError


def entries_from(job_id: str, rows: Rows) -> tuple[Entry, ...]:
    """The entries of a job from their rows. Raises StoreError for what cannot be read."""
    try:
        return tuple(
            Entry(seq, datetime.fromisoformat(at), kind, step, dict(json.loads(data)), who)
            for seq, at, kind, step, data, who in rows
        )
    except (ValueError, TypeError) as error:
        raise StoreError(f"Job {job_id} holds an entry that cannot be read: {error}.") from None


def follows(job_id: str, have: int, entries: Sequence[Entry]) -> None:
    """Raises MovedOnError where entries do not follow the number of those on disk."""
    if entries and entries[0].seq != have + 1:
        raise MovedOnError(
            f"Job {job_id} has {have} entries on disk and number {entries[0].seq} was to be added: "
            "somebody else has entered something meanwhile. Nothing of this was entered; "
            "look at it again."
        )
