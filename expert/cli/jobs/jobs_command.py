"""`rackwalk jobs`: what was recorded, and what can be done with the store of it."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypeVar

from expert.cli.frame.common import add_json, print_json, say
from expert.cli.frame.options import add_place
from expert.cli.frame.page_by_page import LENGTH, add_pages, page
from expert.cli.frame.parser import add_action, known_action, run_module
from expert.cli.jobs.filters import add_filters, chosen
from expert.host import columns

if TYPE_CHECKING:
    from expert.procedure.entries import Entry
    from expert.store.find_jobs import Listed
    from expert.store.job_row import Job

J = TypeVar("J", "Job", "Listed")
ACTIONS = {
    "export": "write jobs as JSON Lines, to take them elsewhere",
    "import": "bring in jobs of another machine; nothing is mixed up",
    "remove": "take a whole job out, for one that was imported by mistake",
    "open": "what earlier jobs left open at a site",
    "check": "read the whole store and say whether it is sound",
    "rescue": "take what can still be read out of a damaged job file",
    "columns": "keep what is known in finished jobs for judging many of them at once",
    "schema": "JSON Schema of an exported line",
}
_MODULES = {
    "export": "export_jobs",
    "import": "import_jobs",
    "open": "list_open_items",
    "check": "check_store",
    "rescue": "rescue_jobs",
    "schema": "export_schema",
}
DESCRIPTION = (
    "Without an action: unfinished jobs, then finished ones, the one worked on last first.\n"
    "'rackwalk report JOB' writes the report of one.\n\nactions:\n"
    + "\n".join(f"  {name:<8}{text}" for name, text in ACTIONS.items())
    + "\n\n'rackwalk jobs ACTION --help' explains each one."
)
EXAMPLES = """\
  rackwalk jobs
  rackwalk jobs --site 'North Store' --unfinished
  rackwalk jobs --who 'A. Sample' --since 2026-01-01 --page 2
  rackwalk jobs --json
  rackwalk jobs export --output jobs.jsonl"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the list, or the action and all that follows it."""
    add_filters(parser)
    parser.add_argument("--unfinished", action="store_true", help="only jobs with steps left")
    add_pages(parser)
    add_place(parser)
    add_json(parser)
    add_action(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0, also when there are none; of an action, its own."""
    return _list(options) if options.action is None else _act(options)


def _act(options: argparse.Namespace) -> int:
    name = known_action("jobs", options.action, ACTIONS)
    # what stood before the action counts too
    before = (
        ["--jobs", str(options.jobs)] if options.jobs and "jobs" not in options.standing else []
    )
    before += ["--json"] if options.json else []
    module = f"jobs.{_MODULES.get(name, name)}"
    return run_module(f"rackwalk jobs {name}", ACTIONS[name], module, [*before, *options.rest])


def _list(options: argparse.Namespace) -> int:
    from expert.cli.frame.common import open_jobs
    from expert.store.find_jobs import closed_as, listed
    from expert.store.paths import job_place, there_are_jobs

    if not there_are_jobs(job_place(options.jobs)):
        return _tell_json([], {}) if options.json else _tell([], "", {}, there_are=False)
    with open_jobs(options.jobs) as store:
        if options.json:
            whole = store.jobs()
            chosen_jobs = _chosen(options, whole) if whole else []
            return _tell_json(chosen_jobs, closed_as(store.database))
        every = listed(store.database, newest_first=True)
        shown, more = page(_chosen(options, every) if every else [], options)
        some = [job.id for job in shown] if len(shown) <= LENGTH else None
        return _tell(shown, more, closed_as(store.database, some), there_are=bool(every))


def _tell_json(jobs: Sequence[Job], closed: Mapping[str, Entry]) -> int:
    print_json({"jobs": [_document(job, closed.get(job.id)) for job in jobs]})
    return 0


def _tell(
    jobs: Sequence[Listed], more: str, closed: Mapping[str, Entry], *, there_are: bool
) -> int:
    from expert.terminal.layout import Layout

    if not there_are:
        say("No job has been recorded yet. 'rackwalk run' begins one.")
    elif not jobs:
        say("No job is so.")
    layout = Layout(columns())
    for job in jobs:
        say("\n".join(layout.named(job.id, _line(job, closed.get(job.id)))))
    for line in layout.text(more) if more else ():
        say(line)
    return 0


def _chosen(options: argparse.Namespace, jobs: Sequence[J]) -> list[J]:
    """The jobs asked for, the unfinished first."""
    found = chosen(options, jobs)
    if options.unfinished:
        found = [job for job in found if job.finished is None]
    return sorted(found, key=lambda job: job.finished is not None)  # the order stays otherwise


def _line(job: Listed, closed: Entry | None) -> str:
    from expert.procedure.closing import in_words

    last = job.last or job.created
    if job.finished:
        done = f"closed without being done, {in_words(closed)}," if closed else "finished"
        state = f"{done} {job.finished.astimezone():%Y-%m-%d %H:%M}"
    else:
        ends = f"closed without being done, {in_words(closed)}, and not signed" if closed else ""
        state = f"{ends or 'not finished'}, last entry {last.astimezone():%Y-%m-%d %H:%M}"
    line = f"{job.checklist} on {job.subject}, {job.site}; {state}; {job.entries} entries"
    return f"{line}; a second history, continued on another machine" if job.branch_of else line


def _document(job: Job, closed: Entry | None) -> dict[str, object]:
    ending = {"state": closed.text("state"), "detail": closed.text("detail")} if closed else None
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
        "closed_as": ending,
        "entries": job.entries,
        "rulebase": job.rulebase,
        "rulebase_version": job.rulebase_version,
        "rulebase_hash": job.rulebase_hash,
        "uid": job.uid,
        "branch_of": job.branch_of,
    }
