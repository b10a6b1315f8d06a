"""Options that the commands of a job share; kept apart so that --help imports little."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from expert.cli.frame.settings import FromSettings
from expert.errors import UsageError

Group = argparse._ArgumentGroup  # what argparse gives for a group of options
DEPTHS = ("learning", "working", "brief")
_OLD_DEPTHS = {"newer": "learning", "experienced": "working"}


def add_place(parser: argparse.ArgumentParser) -> None:
    """`--jobs FOLDER`, or the address of a server."""
    parser.add_argument(
        "--jobs", type=_place, metavar="FOLDER", default=FromSettings("jobs"),
        help="folder of the job file, or postgresql://user@host/database "
        "(default: the settings, else the user's data folder)",
    )  # fmt: skip


def _place(text: str) -> Path | str:
    return text if "://" in text else Path(text)


def add_checklist_file(parser: argparse.ArgumentParser) -> None:
    """`--checklist-file FILE`, for jobs of a checklist that is not shipped."""
    parser.add_argument(
        "--checklist-file", type=Path, metavar="FILE",
        help="the checklist, where it was not one of 'rackwalk list'",
    )  # fmt: skip


def add_walking(parser: argparse.ArgumentParser) -> None:
    """`--report`, `--order`, `--plain`, `--depth`."""
    parser.add_argument(
        "--order", default="", metavar="NUMBER",
        help="number of the work order, kept in the job and said in its reports",
    )  # fmt: skip
    parser.add_argument(
        "--report", type=Path, metavar="FILE",
        help="where the report goes (default: reports/JOB.md beside the job file)",
    )  # fmt: skip
    parser.add_argument(
        "--plain", action="store_true",
        help="line by line, nothing redrawn (by itself without a terminal; or RACKWALK_PLAIN=1)",
    )  # fmt: skip
    parser.add_argument(
        "--depth", choices=DEPTHS, type=depth_named, default=None,
        help="learning: each step by itself, explained; working: hazards and looks on one screen, "
        "values when odd; brief: tables of what can be read (default: working, or as the job was)",
    )  # fmt: skip


def depth_named(text: str) -> str:
    """A depth by its name, or by the name it had before."""
    return _OLD_DEPTHS.get(text, text)


def add_who(parser: argparse.ArgumentParser, what: str = "who does the job") -> None:
    """`--who NAME`."""
    parser.add_argument(
        "--who", default=FromSettings("who", ""), metavar="NAME",
        help=f"{what} (default: the settings); stands in every entry",
    )  # fmt: skip


def add_site(parser: argparse.ArgumentParser | Group, *, needed: bool = False) -> None:
    """`--site FILE`."""
    parser.add_argument(
        "--site", type=Path, metavar="FILE",
        default=FromSettings("site", needed="which store: --site FILE" if needed else ""),
        help="the site file (default: the settings)",
    )  # fmt: skip


def typed_day(text: str | None, what: str) -> date | None:
    """A day as an option has it. Raises UsageError."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise UsageError(f"{what}: '{text}' is no date. Write it as 2026-02-01.") from None
