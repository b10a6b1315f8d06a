"""What several commands share: loading knowledge, options, JSON."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.settings import FromSettings
from expert.errors import harmless
from expert.host import columns, shows_only_ascii
from expert.units.kinds import SYSTEMS

if TYPE_CHECKING:
    from expert.inference.make_engine import Backend
    from expert.store.jobs import JobStore


def add_units(parser: argparse.ArgumentParser) -> None:
    """`--units us|si`."""
    parser.add_argument(
        "--units", choices=SYSTEMS, default=FromSettings("units", SYSTEMS[0]),
        help="unit system of bare numbers and of the output (default: the settings, else us)",
    )  # fmt: skip


def add_json(parser: argparse.ArgumentParser) -> None:
    """`--json`."""
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")


def add_pack(parser: argparse.ArgumentParser) -> None:
    """`--rulebase FOLDER`."""
    parser.add_argument(
        "--rulebase", type=Path, metavar="FOLDER", default=FromSettings("pack"),
        help="another rulebase (default: the settings; 'base' is the one of the program)",
    )  # fmt: skip


def add_rulebase(parser: argparse.ArgumentParser) -> None:
    """`--rulebase FOLDER` and `--engine`."""
    add_pack(parser)
    parser.add_argument(
        "--engine", choices=("auto", "durable", "plain"), default="auto",
        help="engine of the rules (default: the quicker one)",
    )  # fmt: skip


def backend(options: argparse.Namespace) -> Backend:
    """The engine asked for."""
    chosen: Backend = options.engine
    return chosen


def open_jobs(place: Path | str | None) -> JobStore:
    """The job store of `--jobs`, and a note where it can only be read. Raises StoreError."""
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    store = JobStore(job_place(place))
    if store.read_only:
        sys.stderr.write(f"rackwalk: {store.read_only}\n")
    return store


def print_json(document: object) -> None:
    """One document on stdout; where not every sign can be written there, those are escaped."""
    json.dump(document, sys.stdout, indent=2, ensure_ascii=shows_only_ascii(sys.stdout))
    sys.stdout.write("\n")


def say(text: str = "") -> None:
    """One line on stdout; nothing in it moves the cursor or turns the direction of writing.

    On a screen that is narrower it goes on below, set in, and no word is cut; a pipe gets one line.
    """
    line = harmless(text)
    if sys.stdout.isatty() and "\n" not in line:
        line = _on_screen(line)
    sys.stdout.write(f"{line}\n")


def _on_screen(line: str) -> str:
    import textwrap  # neither is needed where nobody looks on

    wide = columns()
    if len(line) <= wide:
        return line
    below = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(
        line, wide, subsequent_indent=below, break_long_words=False, break_on_hyphens=False
    )
