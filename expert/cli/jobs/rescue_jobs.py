"""`rackwalk jobs rescue`: what can still be read of a damaged job file."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.frame.common import say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
Reads what can be read of the damaged file into a new one, fills in from the newest dated copy what
was lost, and says what was saved and what was not. The new file takes the place of the damaged
one, which is kept beside it under another name. With --output nothing is moved.
Close rackwalk in all other windows first."""
EXAMPLES = """\
  rackwalk jobs rescue
  rackwalk jobs rescue old-laptop/jobs.db --output rescued.db"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE",
        help="the damaged file (default: the job file)",
    )
    parser.add_argument(
        "--output", type=Path, metavar="FILE", help="the new file, nothing is moved"
    )
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 with what could be read in a new file."""
    from expert.errors import NotWritten, UsageError
    from expert.store.paths import job_place
    from expert.store.rescue import put_in_place, rescue

    damaged = options.file or job_place(options.jobs)
    if isinstance(damaged, str):
        raise UsageError("A server looks after its own files; this is for a job file.")
    if not damaged.is_file():
        raise UsageError(f"There is no file {damaged}.")
    target = options.output or damaged.with_name(f"{damaged.stem}-rescued{damaged.suffix}")
    rescued = rescue(damaged, target)
    say(f"Saved: {rescued.jobs} jobs with {rescued.entries} entries.")
    for sentence in rescued.messages:
        say(sentence)
    try:
        if rescued.loose:
            loose = target.with_name(f"{target.stem}-loose.jsonl")
            loose.write_text("\n".join(rescued.loose) + "\n", encoding="utf-8")
            say(f"Entries behind a gap: {loose}")
        if options.output is None:
            aside = put_in_place(damaged, target)
            say(f"The damaged file is kept as {aside}.")
            target = damaged
    except OSError as error:
        raise NotWritten(f"Cannot put the new file in place: {error}.") from None
    say(f"The new file: {target}")
    return 0
