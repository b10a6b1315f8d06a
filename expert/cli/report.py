"""`rackwalk report`: the Markdown report of a job, finished or not."""

from __future__ import annotations

import argparse
from pathlib import Path

from expert.cli.common import add_rulebase, say
from expert.cli.options import add_checklist_file, add_place

DESCRIPTION = """\
Judged by the rules as they are now; the report says where they differ from those of the job.
JOB may be shortened to a beginning that only one job has."""
EXAMPLES = """\
  rackwalk report 2026-03-14-A4
  rackwalk report 2026-03-14-A4 --output a4.md
  rackwalk report 2026-03-14-A4 --output -"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument(
        "--output", type=Path, metavar="FILE",
        help="where it goes, - for stdout (default: reports/JOB.md beside the job file)",
    )  # fmt: skip
    add_checklist_file(parser)
    add_place(parser)
    add_rulebase(parser)
    parser.set_defaults(units=None)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; the path of the report is the last line."""
    from expert.cli.common import backend, open_jobs
    from expert.cli.opening import reopen
    from expert.cli.walking import write
    from expert.report.render import render_report

    with open_jobs(options.jobs) as store:
        work = reopen(options, store, store.get(options.job))
        if options.output == Path("-"):
            entries = work.session.picture.entries
            text = render_report(work.job, entries, work.runner, backend=backend(options))
            say(text.rstrip("\n"))
            return 0
        path = write(work, options, options.output)
    say(f"Report: {path}")
    return 0
