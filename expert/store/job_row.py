"""A job as it was begun, and as a row of the table has it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime
from typing import Any

from expert.made_when_used import dataclass
from expert.store.store_errors import StoreError


@dataclass(frozen=True)
class Job:
    """What a job was started with. `finished` is None while steps are left.

    The whole site file is kept as text, so that the job can be judged again years later.
    The store fills in the rest: `entries` and `last` count what was entered and say when last;
    `uid` is the same for all copies of a job on all machines; `branch_of` is the uid of the job
    of which this is another history, continued elsewhere; `chain` the hash of the last entry.
    """

    checklist: str
    checklist_revision: str
    checklist_hash: str
    rulebase: str
    rulebase_version: str
    rulebase_hash: str
    site: str
    site_text: str
    subject: str
    units: str
    who: str
    created: datetime
    finished: datetime | None = None
    id: str = ""
    entries: int = 0
    last: datetime | None = None
    uid: str = ""
    branch_of: str = ""
    chain: str = ""


FILLED_IN = ("entries", "last", "chain")
_NAMES = [field.name for field in fields(Job)]
_COLUMNS = ", ".join(f"f.text AS {n}" if n == "site_text" else f"j.{n}" for n in _NAMES)
SELECT_JOB = f"SELECT {_COLUMNS} FROM job j JOIN site_file f ON f.hash = j.site_hash"  # noqa: S608
TEXT, _ID = _NAMES.index("site_text"), _NAMES.index("id")
_TIMES = [_NAMES.index(name) for name in ("created", "finished", "last")]
HASHED = ", ".join("j.site_hash" if n == "site_text" else f"j.{n}" for n in _NAMES)
_STORED = [name for name in _NAMES if name != "site_text"] + ["site_hash"]
INSERT_JOB = (
    f"INSERT INTO job ({', '.join(_STORED)}) "  # noqa: S608
    f"VALUES ({', '.join(f':{name}' for name in _STORED)})"
)


def job_of(row: Sequence[Any]) -> Job:
    """The job of a row that `SELECT_JOB` gives. Raises StoreError for one that cannot be read."""
    found = list(row)
    try:
        for place in _TIMES:
            found[place] = datetime.fromisoformat(str(found[place])) if found[place] else None
    except ValueError as error:
        raise StoreError(f"Job {found[_ID]} cannot be read: {error}.") from None
    return Job(*found)
