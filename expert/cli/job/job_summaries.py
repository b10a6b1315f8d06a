"""Summaries of jobs: kept when a job is finished, made once where one is missing."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from expert.cli.frame.common import backend
from expert.errors import RackwalkError
from expert.inference.compiled import Compiled
from expert.inference.evaluate import Evaluator
from expert.procedure.history import history_in
from expert.procedure.recorded import recorded_runner
from expert.procedure.runner import Runner
from expert.records.job_summary import (
    VERSION,
    JobSummary,
    from_entries,
    from_text,
    summarize,
    to_text,
)
from expert.report.context import ReportContext
from expert.store.find_jobs import Listed
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.store_errors import StoreError
from expert.store.summaries import keep_summaries, kept_summaries

if TYPE_CHECKING:
    from expert.cli.job.open_job import Work
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist

_BATCH = 50
_MANY = 100  # jobs; from here on it is said that it takes a while


def keep(work: Work) -> None:
    """Keep the summary of a job that was just finished; a store that refuses it goes without."""
    keep_of(work.store, work.job, work.runner, work.evaluator)


def keep_of(store: JobStore, job: Job, runner: Runner, evaluator: Evaluator) -> None:
    """The same of a job as it stands in its store."""
    entries = store.entries(job.id)
    row = (job.id, len(entries), to_text(summarize(ReportContext(job, entries, runner, evaluator))))
    with suppress(StoreError):
        keep_summaries(store.database, [row], VERSION, datetime.now(UTC))


def summaries(
    options: argparse.Namespace, store: JobStore, jobs: Iterable[Listed]
) -> dict[str, JobSummary]:
    """The summary of each job. Those that are missing are made and kept."""
    wanted = list(jobs)
    one = wanted[0].id if len(wanted) == 1 else ""
    texts = kept_summaries(store.database, VERSION, one)
    found: dict[str, JobSummary] = {}
    missing: list[Listed] = []
    for job in wanted:
        text = texts.get(job.id)
        try:
            found[job.id] = from_text(text or "")
        except (ValueError, TypeError):
            missing.append(job)
    if len(missing) >= _MANY and sys.stderr.isatty():
        sys.stderr.write(f"{len(missing)} jobs are summed up for the first time; it is kept.\n")
    judge = _SummingUp(options, store) if missing else None
    missing.sort(key=lambda job: (job.site, job.subject, job.checklist))
    for batch in _batches(missing):
        rows = []
        for job in batch:
            assert judge is not None
            found[job.id] = summary = judge.summary(job)
            rows.append((job.id, job.entries, to_text(summary)))
        if not store.read_only:
            with suppress(StoreError):
                keep_summaries(store.database, rows, VERSION, datetime.now(UTC))
    return found


class _SummingUp:
    """Sums up one job after the other; what the last one was judged with is used again."""

    def __init__(self, options: argparse.Namespace, store: JobStore) -> None:
        from expert.cli.job.load_knowledge import load_rules

        self._options = options
        self._store = store
        self._rules = load_rules(options.rulebase)
        self._checklists: dict[str, Checklist] = {}
        self._site: tuple[str, Site] | None = None
        self._evaluators: dict[object, Evaluator] = {}
        self._compiled: Compiled = {}

    def summary(self, listed: Listed) -> JobSummary:
        """Judged by the rules as they are now; from its entries alone where that cannot be."""
        from expert.cli.job.open_job import begun_with, find_checklist, site_of_job

        job = self._store.get(listed.id)
        entries = self._store.entries(job.id)
        try:
            if self._site is None or self._site[0] != job.site_text:
                self._site = (job.site_text, site_of_job(job, self._rules))
                self._evaluators.clear()  # jobs come in the order of their sites
            if job.checklist not in self._checklists:
                self._checklists[job.checklist] = find_checklist(
                    job.checklist, self._rules, self._options.rulebase
                )
            runner, evaluator = recorded_runner(
                self._checklists[job.checklist], self._rules, self._site[1], job.subject,
                history_in(entries), backend=backend(self._options), made=self._evaluators,
                compiled=self._compiled, begun=begun_with(job),
            )  # fmt: skip
            return summarize(ReportContext(job, entries, runner, evaluator))
        except (RackwalkError, KeyError):  # another checklist, other names
            return from_entries(entries, job.finished, job.checklist)


def _batches(jobs: list[Listed]) -> Iterator[list[Listed]]:
    for start in range(0, len(jobs), _BATCH):
        yield jobs[start : start + _BATCH]
