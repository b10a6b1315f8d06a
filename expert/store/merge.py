"""Bringing together jobs that were made or continued on several machines. Nothing is mixed up.

A job is known everywhere by its uid. Where the entries of one copy begin with all of the other's,
the longer one is the job. Where both went on differently, both histories are kept.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from expert.procedure.entries import Entry, to_json
from expert.store.chain import text_hash
from expert.store.exchange import JobLine
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.store_errors import JobBusyError

ADDED, SAME, LONGER, SHORTER, BRANCH, BUSY = (
    "new", "already here", "gone on with", "further here already", "second history", "left out",
)  # fmt: skip


@dataclass
class Merged:
    """What became of the jobs of a file. `messages` are sentences for whoever brings them."""

    counts: Counter[str] = field(default_factory=Counter)
    messages: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


def merge(store: JobStore, lines: Iterable[JobLine]) -> Merged:
    """Keep the jobs of some lines; a line that is none is told and the others are kept."""
    merged = Merged()
    for line in lines:
        if line.job is None:
            merged.problems.append(f"Line {line.number} was left out: {line.problem}.")
            continue
        outcome, sentence = bring(store, line.job, line.entries)
        merged.counts[outcome] += 1
        if sentence:
            merged.messages.append(sentence)
    return merged


def bring(store: JobStore, job: Job, entries: tuple[Entry, ...]) -> tuple[str, str]:
    """Keep one job; what became of it, and a sentence where one is due."""
    family = store.family(job.branch_of or job.uid)
    if not family:
        store.add_all([(job, entries)])
        here = store.family(job.uid)[0].id
        if here == job.id:
            return ADDED, ""
        return ADDED, (
            f"Another job has the id {job.id} here: what came in with that id is job {here}, also "
            "where a sheet says the other."
        )
    known = [(each, store.entries(each.id)) for each in family]
    # of several histories it belongs to the one with which it goes furthest
    have, kept = max(known, key=lambda each: _common(each[1], entries))
    common = _common(kept, entries)
    if common == len(kept) == len(entries):
        if job.finished and not have.finished and not _opened_again(entries, job):
            store.finish(have.id, job.finished)
        return SAME, ""
    if common == len(entries):
        return SHORTER, ""
    if common == len(kept):
        try:
            store.extend(have.id, entries[common:], job.finished)
        except JobBusyError as error:
            return BUSY, f"Job {have.id} was left out: {error}"
        return LONGER, ""
    return BRANCH, _branch(store, job, entries, have, kept, common)


def _branch(
    store: JobStore, job: Job, entries: tuple[Entry, ...], have: Job, kept: tuple[Entry, ...],
    common: int,
) -> str:  # fmt: skip
    root = job.branch_of or job.uid
    taken = {each.uid for each in store.family(root)}
    if job.uid in taken:  # the same on every machine that meets this history first
        uid = text_hash(json.dumps([root, *map(to_json, entries)]))[:32]
        job = replace(job, uid=uid, branch_of=root)
    store.add_all([(replace(job, id=""), entries)])
    other = next(each for each in store.family(root) if each.uid == job.uid)
    last = f"{kept[common - 1].at:%Y-%m-%d %H:%M} UTC" if common else "its beginning"
    return (
        f"Job {have.id} was continued on two machines after entry {common} ({last}): here to "
        f"entry {len(kept)}, in the file to entry {len(entries)}. Both are kept and nothing was "
        f"mixed: what came in is job {other.id}."
    )


def _opened_again(entries: tuple[Entry, ...], job: Job) -> bool:
    """Whether a job was opened again after its end."""
    return any(each.kind == "reopen" and each.at > job.finished for each in entries if job.finished)


def _common(one: tuple[Entry, ...], other: tuple[Entry, ...]) -> int:
    """How many entries two histories have in common from the beginning."""
    for number, (mine, theirs) in enumerate(zip(one, other, strict=False)):
        if mine != theirs:
            return number
    return min(len(one), len(other))
