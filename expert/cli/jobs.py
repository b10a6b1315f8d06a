"""`rackwalk jobs`: what was recorded, the job worked on last first."""

from __future__ import annotations

import argparse
import shutil
from typing import TYPE_CHECKING

from expert.cli.common import add_json, print_json, say
from expert.cli.options import add_place

if TYPE_CHECKING:
    from expert.store.jobs import Job

DESCRIPTION = "Finished and unfinished jobs. 'rackwalk report JOB' writes the report of one."
EXAMPLES = """\
  rackwalk jobs
  rackwalk jobs --json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    add_place(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also when there are none."""
    from expert.store.jobs import JobStore
    from expert.store.paths import job_file
    from expert.terminal.layout import Layout

    path = job_file(options.jobs)
    jobs: tuple[Job, ...] = ()
    if path.is_file():
        with JobStore(path) as store:
            jobs = store.jobs()
    if options.json:
        print_json({"jobs": [_document(job) for job in jobs]})
        return 0
    if not jobs:
        say("No job has been recorded yet. 'rackwalk run' begins one.")
    layout = Layout(shutil.get_terminal_size().columns)
    for job in jobs:
        for line in layout.named(job.id, _line(job)):
            say(line)
    return 0


def _line(job: Job) -> str:
    last = job.last or job.created
    if job.finished:
        state = f"finished {job.finished.astimezone():%Y-%m-%d %H:%M}"
    else:
        state = f"not finished, last entry {last.astimezone():%Y-%m-%d %H:%M}"
    return f"{job.checklist} on {job.subject}, {job.site}; {state}; {job.entries} entries"


def _document(job: Job) -> dict[str, object]:
    return {
        "id": job.id,
        "checklist": job.checklist,
        "checklist_revision": job.checklist_revision,
        "site": job.site,
        "subject": job.subject,
        "who": job.who,
        "units": job.units,
        "created": job.created.isoformat(),
        "last": job.last.isoformat() if job.last else None,
        "finished": job.finished.isoformat() if job.finished else None,
        "entries": job.entries,
        "rulebase": job.rulebase,
        "rulebase_version": job.rulebase_version,
        "rulebase_hash": job.rulebase_hash,
    }
