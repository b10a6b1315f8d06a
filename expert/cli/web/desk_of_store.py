"""What the pages are given of one job store: knowledge read once, everything else as it is now."""

from __future__ import annotations

import argparse
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import cached_property
from threading import RLock
from typing import TYPE_CHECKING

from expert.cli.frame.common import backend
from expert.cli.job.ending import ending_of
from expert.cli.job.learn_site import JobDone, found_in, keep_learned, store_of
from expert.cli.job.load_knowledge import load_all_checklists, load_rules, site_of_text
from expert.cli.job.open_job import (
    Prepared,
    begun_with,
    changes_since,
    choose_subject,
    find_checklist,
    start,
    subjects_for,
)
from expert.cli.job.which_site import named_site, site_of_kept
from expert.errors import PackError, RackwalkError, UsageError
from expert.procedure.history import history_in
from expert.procedure.recorded import recorded_runner
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.kept_sites import kept_sites
from expert.store.paths import job_place
from expert.web.desk import Desk, JobFilter, Opened, Records

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist
    from expert.procedure.picture import Picture
    from expert.sites.learned import Learned

MOST_SITES, MOST_REPORTS = 50, 60  # that are kept at hand (own choice)


class StoreDesk(Desk):
    """The desk of `--jobs`, judged by `--rulebase`; `--site` is offered beside the kept stores."""

    def __init__(self, options: argparse.Namespace) -> None:
        self._options = options
        self._lock = RLock()
        self._sites: OrderedDict[str, Site] = OrderedDict()
        self._reports: OrderedDict[tuple[str, int, str], str] = OrderedDict()

    def store(self) -> JobStore:
        """The job store, for the thread that asks."""
        return JobStore(job_place(self._options.jobs), beside=True)

    def warm(self) -> None:
        """Read what every job needs; what is wrong with it is told where it is asked for."""
        with suppress(RackwalkError):
            self.checklists()

    @cached_property
    def _loaded(self) -> Rulebase:
        return load_rules(self._options.rulebase)

    @property
    def rules(self) -> Rulebase:
        """The rulebase by which is judged, read once."""
        with self._lock:
            return self._loaded

    @cached_property
    def _listed(self) -> dict[str, Checklist]:
        return load_all_checklists(self._options.rulebase, self.rules)

    def checklists(self) -> Mapping[str, Checklist]:
        """The checklists that can be begun, by their ids."""
        with self._lock:
            return self._listed

    def open(self, store: JobStore, job: Job) -> Opened:
        """A recorded job, judged by the rules as they are now."""
        checklist = self.checklists().get(job.checklist)
        if checklist is None:
            checklist = find_checklist(job.checklist, self.rules, self._options.rulebase)
        runner, evaluator = recorded_runner(
            checklist, self.rules, self._site(job.site_text, f"site file of job {job.id}"),
            job.subject, history_in(store.entries(job.id)), system=job.units,
            backend=backend(self._options), begun=begun_with(job),
        )  # fmt: skip
        changed = tuple(changes_since(job, checklist, self.rules))
        return Opened(job, runner, evaluator, ending_of(job, runner, evaluator), changed)

    def _site(self, text: str, told: str) -> Site:
        with self._lock:
            site = self._sites.pop(text, None) or site_of_text(text, told, self.rules)
            self._sites[text] = site
            if len(self._sites) > MOST_SITES:
                self._sites.popitem(last=False)
            return site

    def sites(self, store: JobStore) -> Mapping[str, Site]:
        """The kept stores and that of `--site`; one that is wrong is left out."""
        found: dict[str, Site] = {}
        if self._options.site is not None:
            site = named_site(self._options.site, self.rules, self._options.jobs)
            found[site.name] = site
        for kept in kept_sites(store.database).values():
            with suppress(PackError):
                found.setdefault(kept.name, site_of_kept(kept, self.rules))
        return found

    def fitting(self, checklist: Checklist, site: Site) -> Sequence[tuple[str, str]]:
        """Id and title of what a checklist can be run on at a site."""
        return [(each.id, each.title) for each in subjects_for(checklist, site)]

    def begin(self, store: JobStore, checklist: str, site: Site, subject: str, who: str) -> str:
        """A new job; its id."""
        options = argparse.Namespace(
            **{**vars(self._options), "checklist": checklist, "subject": subject, "who": who}
        )
        chosen = self.checklists()[checklist]
        on = choose_subject(chosen, site, subject, None)
        return start(Prepared(self.rules, chosen, site, on), options, store=store).job.id

    def finished(self, store: JobStore, opened: Opened) -> None:
        """Keep a finished job in short."""
        from expert.cli.job.job_summaries import keep_of

        keep_of(store, opened.job, opened.runner, opened.evaluator)

    def learned(self, store: JobStore, opened: Opened, picture: Picture) -> Sequence[Learned]:
        """What a finished job knows of its store, where that is kept and can be read."""
        done = self._done(store, opened, picture)
        with suppress(PackError):
            return found_in(done) if store_of(done) is not None else ()
        return ()

    def keep_learned(
        self, store: JobStore, opened: Opened, picture: Picture, wanted: Learned, who: str
    ) -> Sequence[str]:
        """Keep one of them as a new version of the store."""
        return keep_learned(self._done(store, opened, picture), [wanted], who)

    def _done(self, store: JobStore, opened: Opened, picture: Picture) -> JobDone:
        return JobDone(opened.job, store, opened.runner, self.rules, picture)

    def report(self, store: JobStore, job: Job, view: str) -> str:
        """One view of a job as a HTML page, made once for the entries that it has."""
        key = (job.id, job.entries, view)
        with self._lock:
            if key in self._reports:
                return self._reports[key]
        text = self._report(store, job, view)
        with self._lock:
            self._reports[key] = text
            if len(self._reports) > MOST_REPORTS:
                self._reports.popitem(last=False)
        return text

    def _report(self, store: JobStore, job: Job, view: str) -> str:
        from expert.cli.checklist.report import letterhead_of
        from expert.cli.job.job_dialogue import seal_of
        from expert.report.context import Heading
        from expert.report.render import gather, render

        pack = self._options.rulebase
        report = gather(
            job, store.entries(job.id), self.open(store, job).runner,
            backend=backend(self._options), seal=seal_of(store, job.id),
            heading=Heading(letterhead_of(pack), "", pack),
        )  # fmt: skip
        return render(report, view, "html")

    def open_items(self, store: JobStore, wanted: JobFilter) -> Records:
        """What earlier jobs left open, the most urgent first."""
        from expert.cli.web.record_tables import open_items

        return open_items(store, self.rules, wanted)

    def refrigerant(self, store: JobStore, wanted: JobFilter) -> Records:
        """The refrigerant log of a site, as its newest job has it."""
        from expert.cli.web.record_tables import refrigerant

        return refrigerant(store, self._asked(wanted), wanted)

    def audit(self, store: JobStore, wanted: JobFilter) -> Records:
        """How the jobs were done."""
        from expert.cli.web.record_tables import audit

        return audit(store, self._asked(wanted), wanted)

    def _asked(self, wanted: JobFilter) -> argparse.Namespace:
        """Options of a command over many jobs, as its filters have them."""
        named = {name: text or None for name, text in vars(wanted).items()}
        if wanted.since and wanted.until and wanted.since > wanted.until:
            raise UsageError("The first day lies after the last.")
        return argparse.Namespace(
            **{**vars(self._options), "within": None, "try_strengths": False, **named}
        )
