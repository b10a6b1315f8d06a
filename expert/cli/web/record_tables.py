"""Many jobs together as tables for a page: what stands open, the refrigerant log, the audit."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from expert.cli.jobs.list_open_items import URGENCIES, gathered
from expert.errors import UsageError, nearest
from expert.records.tables import Cell, PrintedTable
from expert.store.find_jobs import listed, sites
from expert.web.desk import JobFilter, Records

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.records.ledger import LedgerLine, SystemLog
    from expert.store.jobs import JobStore


def open_items(store: JobStore, rules: Rulebase, wanted: JobFilter) -> Records:
    """What stands open. Raises UsageError for a site that has no jobs."""
    found = gathered(store, lambda: rules, wanted.site, wanted.subject, wanted.urgency)
    rows: list[tuple[Cell, ...]] = [
        (
            site, item.subject, item.text, word,
            f"{item.since.astimezone():%Y-%m-%d}" if item.since else None, item.job,
        )
        for word, site, item in found
    ]  # fmt: skip
    heads = ("store", "on", "what", "endangers", "since", "last in job")
    table = PrintedTable("open", "Left open by earlier jobs", heads, tuple(rows))
    known = {"site": store.sites(), "urgency": URGENCIES}
    return Records([table], [("Open", str(len(rows)))], (), known)


def refrigerant(store: JobStore, options: argparse.Namespace, wanted: JobFilter) -> Records:
    """The refrigerant log of one site. Raises UsageError for one that has no jobs."""
    from expert.cli.job.load_knowledge import load_rules, site_of_text
    from expert.cli.refrigerant.accounts import notice, site_account

    texts = sites(store.database)
    known = {"site": list(texts)}
    if not texts:
        return Records((), (), ("No job has been recorded yet.",), known)
    name = wanted.site or next(iter(texts))
    if name not in texts:
        raise UsageError(f"No job was recorded at '{name}'. {nearest(name, texts)}".rstrip())
    site = site_of_text(texts[name], "site file of the newest job", load_rules(options.rulebase))
    account = site_account(store, site, options, wanted.subject or None)
    tables = [_log_table(log, wanted) for log in account.logs]
    return Records(tables, [("Store", name)], (*account.notes, notice()), known)


def _log_table(log: SystemLog, wanted: JobFilter) -> PrintedTable:
    system = log.system
    rows = [_log_row(line) for line in log.lines if _within(line.movement.day, wanted)]
    heads = (
        "day", "what", "amount", "reason", "cylinder", "certificate", "who", "job", "leak rate",
        "followed by",
    )  # fmt: skip
    title = f"{system.id}: {system.title}, {system.refrigerant or 'refrigerant not given'}"
    struck = [
        f"{each.day} {each.kind}: struck, counts for nothing; job {each.job}"
        for each in log.struck if _within(each.day, wanted)
    ]  # fmt: skip
    return PrintedTable(system.id, title, heads, tuple(rows), " ".join((*log.notes, *struck)))


def _log_row(line: LedgerLine) -> tuple[Cell, ...]:
    from expert.cli.refrigerant.show_log import corrected_texts, mass
    from expert.units.measure import format_both

    moved = line.movement
    corrected = "; ".join(text.removeprefix("- ") for text in corrected_texts(moved))
    reason = "; ".join(filter(None, (moved.reason, corrected)))
    return (
        f"{moved.day}", moved.kind, format_both(mass(moved.pounds)), reason or None,
        moved.cylinder or None, moved.certificate or None, moved.who or None, moved.job,
        "; ".join(_rates(line)) or None,
        "; ".join(f"{what} after {days} days" for what, days in line.followed) or None,
    )  # fmt: skip


def _rates(line: LedgerLine) -> Iterator[str]:
    for rate in line.rates:
        verdict = "OVER" if rate.over else "not over" if rate.programmes else "not judged by"
        limit = f"{float(rate.limit * 100):g} %"
        yield f"{float(rate.percent):.2f} % a year, {verdict} the limit of {limit}"
    yield from line.unknown


def _within(day: date, wanted: JobFilter) -> bool:
    return (not wanted.since or f"{day}" >= wanted.since) and (
        not wanted.until or f"{day}" <= wanted.until
    )


def audit(store: JobStore, options: argparse.Namespace, wanted: JobFilter) -> Records:
    """How the jobs were done. Raises UsageError for a name that no job has."""
    from expert.cli.jobs.show_audit import facts_of, jobs_asked_for, said_of_findings
    from expert.records.audit import audit as tables_of
    from expert.records.record_roles import record_roles

    part = record_roles()
    every = listed(store.database)
    known = {
        "site": sorted({each.site for each in every}),
        "who": sorted({each.who for each in every if each.who}),
        "checklist": sorted({each.checklist for each in every}),
    }
    if wanted.site and wanted.site not in known["site"]:  # a command would also take a file's name
        raise UsageError(f"No job was recorded at '{wanted.site}'.")
    jobs = jobs_asked_for(options, store)
    said = said_of_findings(options, store, {each.job for each in jobs}, part)
    tables = (*tables_of(jobs, part.repeat_within, part.compare_from), *said)
    return Records(tables, facts_of(jobs), (), known)
