"""Where the job file lies."""

from __future__ import annotations

import os
from pathlib import Path

from platformdirs import user_data_path

VARIABLE = "RACKWALK_HOME"
FILE = "jobs.db"


def job_file(folder: Path | None = None) -> Path:
    """The job file: in the folder given, else in that of RACKWALK_HOME, else in the user's data."""
    if folder is None and (named := os.environ.get(VARIABLE)):
        folder = Path(named).expanduser()
    if folder is None:
        folder = user_data_path("rackwalk", appauthor=False)
    return folder / FILE
