"""`rackwalk jobs export`: jobs as JSON Lines."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.options import add_place

if TYPE_CHECKING:
    from expert.store.jobs import JobStore

DESCRIPTION = """\
One whole job a line, with every entry, correction and skip, and the site file it was made with.
'rackwalk jobs import' reads it on another machine; 'rackwalk jobs schema' describes a line.
JOB may be shortened to a beginning that only one job has; without JOB all jobs are written."""
EXAMPLES = """\
  rackwalk jobs export --output jobs.jsonl
  rackwalk jobs export 2026-03-14-A4"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("job", nargs="*", metavar="JOB")
    parser.add_argument("--output", type=Path, metavar="FILE", help="where (default: stdout)")
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0."""
    from expert.cli.frame.common import open_jobs
    from expert.errors import NotWritten

    with open_jobs(options.jobs) as store:
        lines = _lines(store, options.job)
        if options.output is None or options.output == Path("-"):
            for line in lines:
                sys.stdout.write(f"{line}\n")
            return 0
        try:
            with options.output.open("w", encoding="utf-8") as file:
                count = sum(1 for line in lines if file.write(f"{line}\n"))
        except OSError as error:
            raise NotWritten(f"Cannot write {options.output}: {error.strerror}.") from None
    message = f"{count} job{'' if count == 1 else 's'} written to {options.output}\n"
    sys.stdout.write(message)
    return 0


def _lines(store: JobStore, wanted: list[str]) -> Iterator[str]:
    from expert.store.exchange import to_line

    chosen = [store.get(name) for name in wanted] if wanted else reversed(store.jobs())
    for job in chosen:
        yield to_line(job, store.entries(job.id), store.hashes(job.id))
