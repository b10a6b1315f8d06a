"""Where the jobs are kept: a file in a folder, or a server by its address."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

VARIABLE = "RACKWALK_HOME"
FILE = "jobs.db"
SERVER = ("postgresql://", "postgres://", "postgresql+psycopg://")


def is_server(text: str) -> bool:
    """Whether a text is the address of a server and no folder."""
    return text.startswith(SERVER)


def job_place(wanted: Path | str | None = None) -> Path | str:
    """The job file in the folder wanted, or the address; else as RACKWALK_HOME says, either;
    else the file in the user's data."""
    named = os.environ.get(VARIABLE, "")
    if wanted is None and is_server(named):
        wanted = named
    if isinstance(wanted, str) and is_server(wanted):
        return wanted
    return job_file(Path(wanted) if wanted is not None else None)


def job_file(folder: Path | None = None) -> Path:
    """The job file: in the folder given, else in that of RACKWALK_HOME, else in the user's data."""
    if folder is None and (named := os.environ.get(VARIABLE)):
        folder = Path(named).expanduser()
    if folder is None:
        folder = user_data_path("rackwalk", appauthor=False)
    return folder / FILE


def there_are_jobs(place: Path | str) -> bool:
    """Whether there may be jobs; a file that is not there is not made just to look."""
    return isinstance(place, str) or place.is_file()
