"""`rackwalk report`: what a job says, for the technician, the customer or the office."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from expert.cli.frame.common import add_rulebase, say
from expert.cli.frame.options import add_checklist_file, add_place
from expert.knowledge.pack_files import LETTERHEAD, pack_folders

_LETTERHEAD = 6  # lines
VIEWS = ("technical", "customer", "office")
FORMATS = ("markdown", "html")
DESCRIPTION = """\
Views: technical, the whole record; customer, one page in plain words; office, what to plan, order
and book. HTML is one file that needs no network and prints cleanly; the technical one has pictures.
Judged by the rules as they are now; the report says where they differ from those of the job.
JOB may be shortened to a beginning that only one job has. The lines of letterhead.txt in the folder
of the pack (--rulebase, or the settings) stand above every view."""
EXAMPLES = """\
  rackwalk report 2026-03-14-A4
  rackwalk report 2026-03-14-A4 --view customer --output page.html
  rackwalk report 2026-03-14-A4 --view office --output -
  rackwalk report 2026-03-14-A4 --all handover"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument(
        "--view", choices=VIEWS, default=VIEWS[0], help="for whom (default: technical)"
    )
    parser.add_argument(
        "--format", choices=FORMATS,
        help="markdown or html (default: by the ending of --output, else markdown)",
    )  # fmt: skip
    parser.add_argument(
        "--output", type=Path, metavar="FILE",
        help="where it goes, - for stdout (default: in reports/ beside the job file)",
    )  # fmt: skip
    parser.add_argument(
        "--all", type=Path, metavar="FOLDER", help="every view in every format into a folder"
    )
    parser.add_argument(
        "--units", choices=("us", "si", "both"), default="both",
        help="unit system of the report (default: both)",
    )  # fmt: skip
    parser.add_argument(
        "--order",
        default="",
        metavar="NUMBER",
        help="number of the work order (default: the one kept in the job)",
    )
    add_checklist_file(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0; the path of the report is the last line."""
    from expert.cli.frame.common import backend, open_jobs
    from expert.cli.job.job_dialogue import seal_of
    from expert.cli.job.open_job import reopen
    from expert.errors import UsageError
    from expert.report.context import Heading
    from expert.report.render import gather, render, write_text
    from expert.report.views import SUFFIXES

    if options.all and (options.output or options.format or options.view != VIEWS[0]):
        raise UsageError("--all writes every view in every format; leave out the other choices.")
    system, options.units = options.units, None  # those of the job, for what is typed
    with open_jobs(options.jobs) as store:
        job = store.get(options.job)
        if others := store.namesakes(job):
            told = ", ".join(each.id for each in others)
            sys.stderr.write(f"rackwalk: Besides {job.id} there is {told}, by the same id.\n")
        work = reopen(options, store, job)
        entries = work.session.picture.entries
        report = gather(
            work.job,
            entries,
            work.runner,
            system=system,
            backend=backend(options),
            seal=seal_of(store, work.job.id),
            heading=Heading(
                letterhead_of(options.rulebase), " ".join(options.order.split()), options.rulebase
            ),
        )
    if options.all:
        for view in VIEWS:
            for form in FORMATS:
                path = options.all / f"{work.job.id}-{view}{SUFFIXES[form]}"
                write_text(path, render(report, view, form))
                say(f"Report: {path}")
        return 0
    form = options.format or _format_of(options.output)
    text = render(report, options.view, form)
    if options.output == Path("-"):
        say(text.rstrip("\n"))
        return 0
    path = options.output or _usual(work.report_path, options.view, SUFFIXES[form])
    write_text(path, text)
    say(f"Report: {path}")
    return 0


def letterhead_of(pack: Path | None) -> tuple[str, ...]:
    """The lines of letterhead.txt in the folder of a pack, else of one below it; at most six."""
    places = [each / LETTERHEAD for each in (pack_folders(pack) if pack else ())]
    path = next((each for each in places if each.is_file()), None)
    if path is None:
        return ()
    text = path.read_text(encoding="utf-8-sig", errors="replace")
    return tuple(line.strip() for line in text.splitlines() if line.strip())[:_LETTERHEAD]


def _format_of(path: Path | None) -> str:
    """The format that a file name asks for."""
    html = path is not None and path.suffix.lower() in (".html", ".htm")
    return FORMATS[1] if html else FORMATS[0]


def _usual(technical: Path, view: str, suffix: str) -> Path:
    """JOB.md, JOB.html, JOB-customer.md ... beside the job file."""
    stem = technical.name.removesuffix(".md")
    return technical.with_name(f"{stem}{'' if view == VIEWS[0] else '-' + view}{suffix}")
