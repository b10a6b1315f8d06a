"""Findings across jobs: what came back, and what a later job contradicts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import Protocol

from expert.records.job_summary import STANDS, JobSummary, RecordedFinding
from expert.records.record_roles import SourcedCount
from expert.records.tables import PrintedTable


class DoneJob(Protocol):
    """A job with its summary."""

    @property
    def job(self) -> str:
        """Its id."""
        ...

    @property
    def checklist(self) -> str:
        """Id of its checklist."""
        ...

    @property
    def site(self) -> str:
        """Name of its site."""
        ...

    @property
    def subject(self) -> str:
        """What it was on."""
        ...

    @property
    def day(self) -> date:
        """The day it was begun."""
        ...

    @property
    def short(self) -> JobSummary:
        """Its summary."""
        ...


def repeats(jobs: Sequence[DoneJob], within: SourcedCount) -> PrintedTable:
    """The same finding on the same circuit, or findings that name the same part, again in time."""
    days: dict[tuple[str, str, str, str], dict[date, str]] = defaultdict(dict)
    for job in jobs:
        for found in job.short.seen:
            days[job.site, found.subject, "finding", found.title].setdefault(job.day, job.job)
            for part in found.parts:
                days[job.site, found.subject, "part", part].setdefault(job.day, job.job)
    rows = []
    for (site, subject, kind, what), seen in days.items():
        ordered = sorted(seen)
        gaps = [(later - earlier).days for earlier, later in pairwise(ordered)]
        if again := [gap for gap in gaps if gap <= within.value]:
            last = seen[ordered[-1]]
            rows.append(
                (site, subject, kind, what, len(again) + 1, min(again), str(ordered[-1]), last)
            )
    rows.sort(key=lambda row: (-row[4], row))
    return PrintedTable(
        "repeats", "Came back",
        ("site", "subject", "kind", "what", "times", "shortest gap", "last", "last job"),
        tuple(rows),
        f"Found again on the same subject within {within.value} days ({within.source}); a part is "
        "one that the cause of a finding names, whether or not it was changed. Several jobs of "
        "one day count once.",
        ("", "", "", "", "", "days", "", ""),
    )  # fmt: skip


def overturned(jobs: Sequence[DoneJob], within: SourcedCount) -> PrintedTable:
    """First findings that a later job with the same checklist on the same subject contradicts."""
    by_subject: dict[tuple[str, str], list[DoneJob]] = defaultdict(list)
    for job in jobs:
        by_subject[job.site, job.subject].append(job)
    rows = []
    for group in by_subject.values():
        ordered = sorted(group, key=lambda job: (job.day, job.job))
        for number, job in enumerate(ordered):
            first = _first(job)
            if first is None or first.standing != STANDS:
                continue
            for later in _untouched(ordered[number + 1 :], job.day, within.value):
                if later.checklist != job.checklist or not later.short.judged:
                    continue
                if other := _instead(later, first):
                    rows.append(
                        (
                            job.site, job.subject, job.job, first.title, later.job, other.title,
                            (later.day - job.day).days,
                        )
                    )  # fmt: skip
                break
    return PrintedTable(
        "overturned", "Findings a later job contradicts",
        ("site", "subject", "job", "first finding", "later job", "found instead", "days"),
        tuple(sorted(rows)),
        "The first finding of a job that was not put right, where the next job with the same "
        f"checklist on the same subject within {within.value} days ({within.source}), with nothing "
        "changed in between, does not find it and finds another cause in the same system. It may "
        "also have changed by itself: a reason to read both.",
        ("", "", "", "", "", "", "days"),
    )  # fmt: skip


def _first(job: DoneJob) -> RecordedFinding | None:
    own = (found for found in job.short.seen if found.subject == job.subject)
    return next(own, None) if not job.short.changes else None


def _untouched(later: Iterable[DoneJob], day: date, within: int) -> Iterator[DoneJob]:
    """Later jobs in time, up to and with the first in which something was changed."""
    for job in later:
        if (job.day - day).days > within:
            return
        yield job
        if job.short.changes:
            return


def _instead(later: DoneJob, first: RecordedFinding) -> RecordedFinding | None:
    own = [found for found in later.short.seen if found.subject == first.subject]
    if any(found.cause == first.cause for found in own):
        return None
    return next((found for found in own if found.system == first.system), None)
