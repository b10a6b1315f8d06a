"""`rackwalk jobs check`: the full check of the job store."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
Opening a job file checks it only as far as that takes no time. This reads all of it: every page,
every job and every entry, and that entries follow one another without a gap."""
EXAMPLES = """\
  rackwalk jobs check"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 where all is sound, 3 where something is wrong."""
    from expert.cli.frame.common import open_jobs
    from expert.store.store_errors import StoreError

    jobs = entries = 0
    with open_jobs(options.jobs) as store:
        name, found = store.database.name, list(store.database.check())
        for job in store.jobs():
            jobs += 1
            try:
                kept = store.entries(job.id)
            except StoreError as error:
                found.append(str(error))
                continue
            entries += len(kept)
            if [entry.seq for entry in kept] != list(range(1, job.entries + 1)):
                found.append(f"Job {job.id} should have {job.entries} entries and has {len(kept)}.")
    for problem in found:
        say(problem)
    if found:
        say(f"{name} is damaged. 'rackwalk jobs rescue' takes out what can still be read.")
        return 3
    say(f"{name} is sound: {jobs} jobs, {entries} entries.")
    return 0
