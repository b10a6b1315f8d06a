"""Entries that hold one another: each has a hash of itself and of the one before.

The first holds the head of its job, so that neither what a job was made with nor any entry can be
changed, taken out or put in without every later hash telling. It is no signature: whoever makes
all hashes of a job anew leaves no trace in it, but then it is no longer the same history as any
other copy (`merge.py` keeps both).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Protocol

from expert.procedure.entries import Entry

HEAD = (
    "uid", "branch_of", "checklist", "checklist_revision", "checklist_hash", "rulebase",
    "rulebase_version", "rulebase_hash", "site", "site_hash", "subject", "units", "who", "created",
)  # fmt: skip
Row = tuple[int, str, str, str, str, str]  # seq, at, kind, step, data, who: as the table has them
FIELDS = "seq, at, kind, step, data, who"


class Headed(Protocol):
    """A job, as far as its head goes."""

    @property
    def site_text(self) -> str:
        """The text of its site file."""
        ...


def text_hash(text: str) -> str:
    """The content hash of a text."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def root_of(head: Mapping[str, object]) -> str:
    """The hash that the first entry holds, from the columns of a job's row."""
    return _hash([head[name] for name in HEAD])


def head_of(job: Headed) -> dict[str, object]:
    """The columns of a job's row that are in its first hash."""
    head = {n: getattr(job, n) for n in HEAD if n not in ("site_hash", "created")}
    created = getattr(job, "created").isoformat()  # noqa: B009 - of a Protocol kept small
    return {**head, "site_hash": text_hash(job.site_text), "created": created}


def link(before: str, row: Row) -> str:
    """The hash of an entry after the one whose hash is given."""
    return _hash([before, *row])


def row_of(entry: Entry) -> Row:
    """An entry as the table has it."""
    text = json.dumps(dict(entry.data), ensure_ascii=False, allow_nan=False)
    if not text.isascii() and any("\ud800" <= sign <= "\udfff" for sign in text):
        text = json.dumps(dict(entry.data), allow_nan=False)  # half a character, kept as escaped
    return entry.seq, entry.at.isoformat(), entry.kind, entry.step, text, entry.who


def hashes(root: str, entries: Iterable[Entry]) -> Iterator[str]:
    """The hash of each entry of a job from its first on."""
    for entry in entries:
        root = link(root, row_of(entry))
        yield root


def first_broken(root: str, rows: Iterable[tuple[Row, str]]) -> int | None:
    """The number of the first entry that is not as it was written, None where all are."""
    for number, (row, kept) in enumerate(rows, 1):
        root = link(root, row)
        if root != kept or row[0] != number:
            return number
    return None


def _hash(parts: Sequence[object]) -> str:
    return text_hash(json.dumps(parts, ensure_ascii=True, separators=(",", ":"), default=repr))
