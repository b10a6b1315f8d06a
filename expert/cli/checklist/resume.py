"""`rackwalk resume`: go on with a job at the step where it was left."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import add_rulebase
from expert.cli.frame.options import add_checklist_file, add_place, add_walking, add_who
from expert.knowledge.where import ROOMS
from expert.units.kinds import SYSTEMS

DESCRIPTION = """\
Without JOB it is the job worked on last that is not finished. JOB may be shortened to a
beginning that only one job has. A finished job is opened to change a step."""
EXAMPLES = """\
  rackwalk resume
  rackwalk resume 2026-03-14-A4
  rackwalk resume 2026-03-14-A4 --plain
  rackwalk resume 2026-03-14-A4 --beside --at case --who 'B. Sample'"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", nargs="?", metavar="JOB")
    parser.add_argument(
        "--take-over", action="store_true", help="also when another program holds the job"
    )
    parser.add_argument(
        "--beside", action="store_true",
        help="beside somebody who is at the job: what one enters the other sees",
    )  # fmt: skip
    parser.add_argument(
        "--at", action="append", choices=ROOMS, metavar="PLACE",
        help="with --beside, where you are: motor room, case or roof, also several; each is asked "
        "what is at the own place (default: asked)",
    )  # fmt: skip
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
    from expert.errors import Stopped, UsageError
    from expert.store.store_errors import JobBusyError
    from expert.terminal.asking import Asking
    from expert.terminal.choose import ask_rooms, ask_who, open_front
    from expert.terminal.dialogue import Dialogue
    from expert.terminal.others import Others

    with open_jobs(options.jobs) as store:
        if options.job:
            job = store.get(options.job)
        else:
            unfinished = [each for each in store.jobs() if each.finished is None]
            if not unfinished:
                raise UsageError("There is no unfinished job. 'rackwalk jobs' lists them all.")
            job = unfinished[0]
        beside = options.beside and store.join(job.id)
        try:
            if not options.beside:
                store.hold(job.id, take_over=options.take_over)
        except JobBusyError as error:
            raise JobBusyError(
                f"{error} 'rackwalk resume {job.id} --take-over' does; "
                f"'rackwalk resume {job.id} --beside' works on it together."
            ) from None
        front = open_front(options.plain)
        if not options.who and front.interactive:
            options.who = ask_who(front, job.who)
        if beside and not options.who:
            raise UsageError("Two at one job are told apart by their names: --who NAME.")
        work = reopen(options, store, job)
        if work.session.finished:
            front.show(front.layout.text(f"Job {job.id} is finished."))
            if not Dialogue(work.session, texts_of(work, options), front).change():
                return 0
        if beside and not Others(work.session, Asking(front)).join():
            return Stopped.exit_code
        if beside and not options.at and front.interactive:
            options.at = ask_rooms(front)
        work.session.resume(options.at or (), beside=beside)
        return walk(work, front, options)
