"""`rackwalk jobs remove`: take a whole job out, for one that was imported by mistake."""

from __future__ import annotations

import argparse

from expert.cli.frame.common import say
from expert.cli.frame.options import add_place

DESCRIPTION = """\
The job is first written into the folder 'removed' beside the job file, as 'jobs export' writes it;
'jobs import' brings it back. It must be named in full. 'rackwalk sync' does not take it again as
long as nothing is added to it; out of the company's store only the office takes a job."""
EXAMPLES = """\
  rackwalk jobs remove 2026-03-14-A4"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the action."""
    parser.add_argument("job", metavar="JOB")
    add_place(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; where the job lies now is the last line."""
    from expert.cli.frame.common import open_jobs
    from expert.errors import UsageError
    from expert.report.render import write_text
    from expert.store.exchange import to_line

    with open_jobs(options.jobs) as store:
        job = store.get(options.job)
        if job.id != options.job:
            raise UsageError(f"Name the job in full: rackwalk jobs remove {job.id}")
        path = store.folder / "removed" / f"{job.id}.jsonl"
        number = 1
        while path.exists():
            number += 1
            path = path.with_name(f"{job.id}-{number}.jsonl")
        write_text(path, to_line(job, store.entries(job.id), store.hashes(job.id)) + "\n")
        store.remove(job.id)
    say(f"Job {job.id} was taken out; 'rackwalk jobs import' brings it back from:")
    say(str(path))
    return 0
