"""Where the jobs are kept: a file in a folder, or a server by its address."""

from __future__ import annotations

import os
import re
from pathlib import Path

from expert.errors import UsageError
from expert.user_folders import expanded, of_user

_PASSWORD = re.compile(r"(:/{0,2}[^/@:\s]*):[^/@\s]*@")
# A slash may have been lost on the way; one letter before the colon is a drive.
_ADDRESS = re.compile(r"[A-Za-z][\w+.-]+:/|postg\w*:", re.IGNORECASE)
VARIABLE = "RACKWALK_HOME"
FILE = "jobs.db"
SERVER = ("postgresql://", "postgres://", "postgresql+psycopg://")


def is_server(text: str) -> bool:
    """Whether a text is the address of a server and no folder."""
    return text.startswith(SERVER)


def hidden(text: str) -> str:
    """A text without the password of an address in it."""
    return _PASSWORD.sub(r"\1:***@", text)


def address_problem(text: str) -> str:
    """Why what looks like an address is none, in a sentence; empty where it is one, or a folder."""
    if not _ADDRESS.match(text) or is_server(text):
        return ""
    form = "Write it as postgresql://user@host/database."
    return f"'{hidden(text)}' is no address of a job server. {form}"


def _refuse_address(text: str) -> None:
    """Raises UsageError for what looks like an address and is none that is known."""
    if problem := address_problem(text):
        raise UsageError(problem)


def job_place(wanted: Path | str | None = None) -> Path | str:
    """The job file in the folder wanted, or the address; else as RACKWALK_HOME says, either;
    else the file in the user's data."""
    named = os.environ.get(VARIABLE, "")
    _refuse_address(str(wanted) if wanted is not None else named)
    if wanted is None and is_server(named):
        wanted = named
    if isinstance(wanted, str) and is_server(wanted):
        return wanted
    return job_file(Path(wanted) if wanted is not None else None)


def job_file(folder: Path | None = None) -> Path:
    """The job file: in the folder given, else in that of RACKWALK_HOME, else in the user's data.

    Raises UsageError where a file is named in place of a folder.
    """
    if folder is None and (named := os.environ.get(VARIABLE)):
        folder = expanded(named)
    if folder is None:
        folder = of_user("data")
    if folder.is_file():
        raise UsageError(f"{folder} is a file; jobs are kept in a folder.")
    return folder / FILE


def packs_beside(place: Path | str) -> Path:
    """The folder beside the jobs of a place."""
    return of_user("data") if isinstance(place, str) else place.parent


def there_are_jobs(place: Path | str) -> bool:
    """Whether there may be jobs; a file that is not there is not made just to look."""
    return isinstance(place, str) or place.is_file()
