"""Pages to look at: jobs, what stands open, the refrigerant log, the audit; each with filters."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TypeVar

from starlette.responses import Response

from expert.errors import UsageError
from expert.procedure.closing import in_words
from expert.records.tables import cell_text
from expert.store.find_jobs import closed_as
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.web.desk import Desk, JobFilter, Records
from expert.web.page_request import PageRequest, whole_number
from expert.web.pages import page
from expert.web.service import Service

LENGTH = 25  # rows of a page
MOST_ROWS = 200  # of a table
T = TypeVar("T")


def wanted_of(ask: PageRequest) -> JobFilter:
    """The filters of an address. Raises UsageError for what is no day."""
    for name in ("since", "until"):
        if text := ask.wanted(name):
            try:
                date.fromisoformat(text)
            except ValueError:
                raise UsageError(f"'{text}' is no date. Write it as 2026-02-01.") from None
    names = ("site", "who", "checklist", "subject", "since", "until", "urgency")
    return JobFilter(**{name: ask.wanted(name) for name in names})


def jobs_page(service: Service, ask: PageRequest) -> Response:
    """Unfinished jobs, then finished ones, the one worked on last first."""
    jobs = service.jobs(ask)
    store, wanted = jobs.stores.here, wanted_of(ask)
    every = store.jobs()
    found = [each for each in every if _is(each, wanted)]
    if ask.wanted("unfinished"):
        found = [each for each in found if each.finished is None]
    found.sort(key=lambda job: job.finished is not None)
    shown, number, last = _page(found, ask)
    ends = {job: in_words(entry) for job, entry in closed_as(store.database).items()}
    known = {
        "site": sorted({each.site for each in every}),
        "who": sorted({each.who for each in every if each.who}),
        "checklist": sorted({each.checklist for each in every}),
    }
    return page(
        "jobs", ask, jobs=shown, ends=ends, number=number, last=last, total=len(found),
        wanted=wanted, known=known, read_only=store.read_only,
    )  # fmt: skip


def _is(job: Job, wanted: JobFilter) -> bool:
    day = f"{job.created.astimezone():%Y-%m-%d}"
    return (
        wanted.site in ("", job.site) and wanted.who in ("", job.who)
        and wanted.checklist in ("", job.checklist)
        and wanted.subject.casefold() in ("", job.subject.casefold())
        and (not wanted.since or day >= wanted.since)
        and (not wanted.until or day <= wanted.until)
    )  # fmt: skip


def _page(found: Sequence[T], ask: PageRequest) -> tuple[Sequence[T], int, int]:
    """The rows of the page asked for, its number, and the number of the last."""
    last = max(-(-len(found) // LENGTH), 1)
    number = min(max(whole_number(ask.wanted("page")), 1), last)
    return found[(number - 1) * LENGTH : number * LENGTH], number, last


Gather = Callable[[Desk, JobStore, JobFilter], Records]


def _records(
    action: str, title: str, filters: Sequence[str], gather: Gather
) -> Callable[..., Response]:
    def shown(service: Service, ask: PageRequest) -> Response:
        jobs, wanted = service.jobs(ask), wanted_of(ask)
        records = gather(jobs.desk, jobs.stores.here, wanted)
        tables = [
            (
                table,
                [
                    [cell_text(cell, table.unit(n)) for n, cell in enumerate(row)]
                    for row in table.rows[:MOST_ROWS]
                ],
                max(len(table.rows) - MOST_ROWS, 0),
            )
            for table in records.tables
        ]
        return page(
            "records", ask, title=title, names=filters, records=records, tables=tables,
            wanted=wanted, action=action,
        )  # fmt: skip

    return shown


open_items_page = _records(
    "/open",
    "Left open",
    ("site", "subject", "urgency"),
    lambda desk, store, w: desk.open_items(store, w),
)
refrigerant_page = _records(
    "/refrigerant", "Refrigerant log", ("site", "subject", "since", "until"),
    lambda desk, store, w: desk.refrigerant(store, w),
)  # fmt: skip
audit_page = _records(
    "/audit", "Audit", ("site", "who", "checklist", "subject", "since", "until"),
    lambda desk, store, w: desk.audit(store, w),
)  # fmt: skip
