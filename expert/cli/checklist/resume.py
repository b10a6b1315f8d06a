"""`rackwalk resume`: go on with a job at the step where it was left."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import add_rulebase
from expert.cli.frame.options import add_checklist_file, add_place, add_walking, add_who
from expert.units.kinds import SYSTEMS

DESCRIPTION = """\
Without JOB it is the job worked on last that is not finished. JOB may be shortened to a
beginning that only one job has. A finished job is opened to change a step."""
EXAMPLES = """\
  rackwalk resume
  rackwalk resume 2026-03-14-A4
  rackwalk resume 2026-03-14-A4 --plain"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", nargs="?", metavar="JOB")
    parser.add_argument(
        "--take-over", action="store_true", help="also when another program holds the job"
    )
    add_who(parser, "who goes on with it")
    add_checklist_file(parser)
    parser.add_argument("--units", choices=SYSTEMS, help="unit system (default: that of the job)")
    add_walking(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when finished, 5 when stopped again."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.job_dialogue import texts_of, walk
    from expert.cli.job.open_job import reopen
    from expert.errors import UsageError
    from expert.store.store_errors import JobBusyError
    from expert.terminal.choose import ask_who, open_front
    from expert.terminal.dialogue import Dialogue

    with open_jobs(options.jobs) as store:
        if options.job:
            job = store.get(options.job)
        else:
            unfinished = [each for each in store.jobs() if each.finished is None]
            if not unfinished:
                raise UsageError("There is no unfinished job. 'rackwalk jobs' lists them all.")
            job = unfinished[0]
        try:
            store.hold(job.id, take_over=options.take_over)
        except JobBusyError as error:
            raise JobBusyError(f"{error} 'rackwalk resume {job.id} --take-over' does.") from None
        front = open_front(options.plain)
        if not options.who and front.interactive:
            options.who = ask_who(front, job.who)
        work = reopen(options, store, job)
        if work.session.finished:
            front.show(front.layout.text(f"Job {job.id} is finished."))
            if not Dialogue(work.session, texts_of(work, options), front).change():
                return 0
        work.session.resume()
        return walk(work, front, options)
