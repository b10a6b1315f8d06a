"""`rackwalk site learn`: keep for the store what a job found set there, or has set."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import say
from expert.cli.frame.options import add_checklist_file
from expert.cli.site.which import add_usual

DESCRIPTION = """\
A job reads settings and design values that the store does not say yet, or finds other ones. They
are listed with who read them and when; --yes keeps them all, else each is asked for."""
EXAMPLES = """\
  rackwalk site learn 2026-03-14-A4
  rackwalk site learn 2026-03-14-A4 --yes"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument("--yes", action="store_true", help="keep all of it")
    add_checklist_file(parser)
    add_usual(parser)
    parser.set_defaults(engine="plain")


def run(options: argparse.Namespace) -> int:
    """Exit code 0; 2 where the store of the job is not kept."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.learn_site import ask_which, done_of, found_in, keep_learned
    from expert.cli.job.open_job import reopen
    from expert.terminal.choose import open_front

    with open_jobs(options.jobs) as store:
        work = reopen(options, store, store.get(options.job))
        done = done_of(work)
        found = found_in(done)
        if not found:
            say("The store says already all that this job knows of it.")
            return 0
        wanted = found if options.yes else ask_which(open_front(), found)
        for line in keep_learned(done, wanted, options.who):
            say(line)
    return 0
