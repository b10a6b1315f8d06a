"""`rackwalk jobs check`: the full check of the job store."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
Opening a job file checks it only as far as that takes no time. This reads all of it: every page,
every job and every entry, and that nothing was altered since it was written: each entry holds a
hash of itself and of the one before."""
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
            if told := store.altered(job.id):
                found.append(told)
    for problem in found:
        say(problem)
    if found:
        say(f"{name} is damaged or was altered. 'rackwalk jobs rescue' takes out what can be read.")
        return 3
    say(f"{name} is sound: {jobs} jobs, {entries} entries.")
    return 0
