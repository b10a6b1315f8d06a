"""Summaries of jobs: kept when a job is finished, made once where one is missing."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from contextlib import suppress
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from expert.errors import RackwalkError
from expert.records.summary import VERSION, Summary, from_entries, from_text, summarize, to_text
from expert.store.errors import StoreError
from expert.store.find import Listed
from expert.store.jobs import JobStore
from expert.store.summaries import keep_summaries, kept_summaries

if TYPE_CHECKING:
    from expert.cli.opening import Work

_BATCH = 50
_MANY = 100  # jobs; from here on it is said that it takes a while


def keep(work: Work, options: argparse.Namespace) -> None:
    """Keep the summary of a job that was just finished; a store that refuses it goes without."""
    entries = work.session.picture.entries
    row = (work.job.id, len(entries), to_text(_made(work, options)))
    with suppress(StoreError):
        keep_summaries(work.store.database, [row], VERSION, datetime.now(UTC))


def summaries(
    options: argparse.Namespace, store: JobStore, jobs: Iterable[Listed]
) -> dict[str, Summary]:
    """The summary of each job. Those that are missing are made and kept."""
    wanted = list(jobs)
    one = wanted[0].id if len(wanted) == 1 else ""
    texts = kept_summaries(store.database, VERSION, one)
    found: dict[str, Summary] = {}
    missing: list[Listed] = []
    for job in wanted:
        text = texts.get(job.id)
        try:
            found[job.id] = from_text(text or "")
        except (ValueError, TypeError):
            missing.append(job)
    if len(missing) >= _MANY and sys.stderr.isatty():
        sys.stderr.write(f"{len(missing)} jobs are summed up for the first time; it is kept.\n")
    for batch in _batches(missing):
        rows = []
        for job in batch:
            found[job.id] = summary = _of(options, store, job)
            rows.append((job.id, job.entries, to_text(summary)))
        if not store.read_only:
            with suppress(StoreError):
                keep_summaries(store.database, rows, VERSION, datetime.now(UTC))
    return found


def _of(options: argparse.Namespace, store: JobStore, job: Listed) -> Summary:
    from expert.cli.opening import reopen

    try:
        as_the_job = argparse.Namespace(**{**vars(options), "units": None})
        work = reopen(as_the_job, store, store.get(job.id))
        return _made(work, options)
    except (RackwalkError, KeyError):  # another checklist, other names: the entries remain
        return from_entries(store.entries(job.id), job.finished, job.checklist)


def _made(work: Work, options: argparse.Namespace) -> Summary:
    from expert.cli.common import backend
    from expert.inference.evaluate import Evaluator
    from expert.report.context import ReportContext

    runner = work.runner
    evaluator = Evaluator(
        runner.rulebase, runner.subject, members=runner.members.values(),
        backend=backend(options),
    )  # fmt: skip
    report = ReportContext(work.job, work.session.picture.entries, runner, evaluator)
    return summarize(report)


def _batches(jobs: list[Listed]) -> Iterator[list[Listed]]:
    for start in range(0, len(jobs), _BATCH):
        yield jobs[start : start + _BATCH]
