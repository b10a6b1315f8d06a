"""The refrigerant logs of a site, or of every site, gathered from the store."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from expert.cli.job.job_summaries import summaries
from expert.cli.job.load_knowledge import load_rules, site_of_text
from expert.cli.job.which_site import named_site
from expert.host import columns
from expert.knowledge.site import Site
from expert.physics.leak_law.rules import leak_rules
from expert.records.ledger import SystemLog, build
from expert.records.movements import Happening, JobSource, Movement, happened, moved
from expert.records.record_roles import record_roles
from expert.records.systems import chosen, racks_of, systems_of
from expert.store.find_jobs import jobs_with_readings, listed, sites
from expert.store.jobs import JobStore


@dataclass(frozen=True)
class SiteAccount:
    """The logs of one site. `notes` are about the whole site."""

    site: Site
    logs: tuple[SystemLog, ...]
    notes: tuple[str, ...]


def sites_asked_for(store: JobStore, options: argparse.Namespace) -> list[Site]:
    """The site of the file named, or every site of the store as its newest job has it."""
    if options.site is not None:
        path: Path = options.site
        return [named_site(path, load_rules(options.rulebase), options.jobs)]
    rules = load_rules(options.rulebase)
    told = "site file of the newest job"
    return [site_of_text(text, told, rules) for text in sites(store.database).values()]


def site_account(
    store: JobStore, site: Site, options: argparse.Namespace, system: str | None = None
) -> SiteAccount:
    """The logs of a site, or of one system of it. Raises UsageError for one it does not have."""
    part, racks = record_roles(), racks_of(site)
    systems = systems_of(site, part)
    of_part = {name.lower(): rack for name, rack in racks.items()}
    wanted = chosen(systems, of_part.get(system.lower(), system) if system else None)
    ids = set(jobs_with_readings(store.database, site.name, part.quantities))
    jobs = [job for job in listed(store.database) if job.id in ids]
    short = summaries(options, store, jobs) if jobs else {}
    movements: list[Movement] = []
    happenings: list[Happening] = []
    for job in jobs:
        entries = store.entries(job.id)
        source = JobSource(
            job.id, job.checklist, job.subject, job.who, racks, short[job.id].set_aside
        )
        movements += moved(source, entries, part)
        happenings += happened(source, entries, part)
    lost = sorted({each.system for each in movements if each.system not in systems})
    notes = [f"Jobs have amounts on '{name}', which the site file does not have." for name in lost]
    if not jobs:
        notes.append(f"No job of {site.name} has an amount of refrigerant yet.")
    return SiteAccount(
        site,
        tuple(build(each, movements, happenings, part) for each in wanted),
        tuple(notes),
    )


def notice() -> str:
    """What goes with every result."""
    return leak_rules().notice


def wrapped(texts: Iterable[str]) -> Iterator[str]:
    """Lines that fit the screen; the second line of a text is set in."""
    from expert.terminal.layout import Layout

    layout = Layout(columns())
    for text in texts:
        yield from layout.text(text, 0, 2)


def today() -> date:
    """The day here."""
    return datetime.now().astimezone().date()
