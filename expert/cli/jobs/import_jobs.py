"""`rackwalk jobs import`: jobs of another machine, brought in without mixing anything."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
FILE is what 'rackwalk jobs export' wrote. A job that is here already is not doubled; one that
went on elsewhere is gone on with; one that went on here and there is kept as two histories, and
a sentence says so. A line that is no job is told with its number and the others are kept."""
EXAMPLES = """\
  rackwalk jobs import from-the-van.jsonl"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("file", type=Path, metavar="FILE")
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 3 where a line is no job, 2 where a job is held by another program."""
    from expert.cli.frame.common import open_jobs
    from expert.errors import UsageError
    from expert.store.exchange import read_lines
    from expert.store.merge import ADDED, BUSY, merge
    from expert.text_files import marked_encoding

    try:
        with (
            options.file.open(encoding=marked_encoding(options.file), errors="replace") as file,
            open_jobs(options.jobs) as store,
        ):
            merged = merge(store, read_lines(file))
    except OSError as error:
        raise UsageError(f"Cannot read {options.file}: {error.strerror}.") from None
    counted = dict.fromkeys([ADDED, *merged.counts])
    counts = ", ".join(f"{merged.counts[name]} {name}" for name in counted)
    say(f"{options.file}: {sum(merged.counts.values())} jobs: {counts}.")
    for sentence in (*merged.messages, *merged.problems):
        say(sentence)
    if merged.problems:
        return 3
    return UsageError.exit_code if merged.counts[BUSY] else 0
