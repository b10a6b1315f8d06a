"""Recorded jobs and whole cases judged by two rulebases: from columns where there are such."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from expert.author.comparison.backtest import (
    Case,
    FileCase,
    JobCase,
    Judged,
    JudgedBy,
    judge_by_both,
    may_differ,
)
from expert.author.comparison.otherwise import Otherwise, Totals
from expert.cli.frame.progress import Progress
from expert.cli.job.job_columns import can_use_columns, columns_folder
from expert.errors import UsageError
from expert.store.jobs import JobStore

if TYPE_CHECKING:
    from expert.author.comparison.by_columns import Settled
    from expert.columns.parquet import Heads


@dataclass(frozen=True)
class Differs:
    """A case that is judged differently, and in what."""

    name: str
    otherwise: Otherwise

    @property
    def lines(self) -> tuple[str, ...]:
        """What is different, in words."""
        return self.otherwise.lines


class JudgedAnew:
    """Judges by two rulebases, and counts. Few jobs are held at a time, however many there are."""

    def __init__(
        self, before: JudgedBy, after: JudgedBy, workers: int = 0, address: str = ""
    ) -> None:
        self._both = before, after
        self._workers = workers
        self._address = address
        self._totals = Totals()
        self.count = 0
        self._alike = 0
        self._different = 0
        self._progress = Progress("jobs")

    def different(self, jobs: Path | str | None, files: Sequence[Path]) -> Iterator[Differs]:
        """The jobs of a place and the files that are judged differently."""
        if jobs is not None:
            with JobStore(jobs) as store:
                settled: set[str] = set()
                yield from self._told(self._from_columns(store, columns_folder(jobs), settled))
                others = self._jobs(store, settled)
                yield from self._told(_named(judge_by_both(others, *self._both, self._workers)))
        cases: list[Case] = [FileCase(path) for path in files]
        self.count += len(cases)
        rules = (by.rulebase for by in self._both)
        wanted = list(may_differ(cases, *rules))
        self._alike += len(cases) - len(wanted)
        if wanted:
            yield from self._told(_named(judge_by_both(wanted, *self._both, self._workers)))

    def _told(self, judged: Iterable[Differs]) -> Iterator[Differs]:
        for each in judged:
            if each.lines:
                self._different += 1
                self._totals.add(each.otherwise)
                self._progress.end()
                yield each
        self._progress.end()

    def _from_columns(self, store: JobStore, folder: Path, settled: set[str]) -> Iterator[Differs]:
        """What columns settle; the ids of these jobs go into `settled`."""
        if not folder.is_dir() or not can_use_columns():
            if self._address:
                raise UsageError("There are no columns for workers: rackwalk jobs columns")
            return
        from expert.columns.compiled_rules import TooLarge
        from expert.columns.parquet import files_in

        try:
            for heads, found in self._settled(files_in(folder)):
                sites = _as_they_are(store, found.of(heads))
                fresh = {head for head in sites if head[0] not in settled}
                self.count += len(fresh)
                settled.update(job for job, _ in fresh)
                self._progress(self.count)
                for place, each in found.different:
                    head = heads[place]
                    if head in fresh:
                        yield Differs(_name(head[0], sites[head]), each)
        except TooLarge:
            return

    def _settled(self, files: Sequence[Path]) -> Iterator[tuple[Heads, Settled]]:
        """What the blocks of files settle, here or on the workers of an address, with the jobs of
        each. What cannot be read is told; its jobs are judged from their entries."""
        from expert.columns.parquet import UnreadableColumnsError

        if self._address:
            from expert.author.comparison.on_workers import settled_on_workers

            found = settled_on_workers(self._address, files, self._both)
            parts: Iterable[tuple[Path, Iterable[Settled], str]] = (
                (each.path, each.blocks, each.problem) for each in found
            )
        else:
            from expert.author.comparison.by_columns import ColumnComparison

            comparison = ColumnComparison(*self._both)
            parts = ((path, comparison.in_file(path), "") for path in files)
        for path, blocks, problem in parts:
            try:
                yield from _with_heads(path, blocks)
            except UnreadableColumnsError as error:
                problem = problem or str(error)
            if problem:
                sys.stderr.write(f"rackwalk: {problem} Its jobs are judged from their entries.\n")

    def _jobs(self, store: JobStore, settled: set[str]) -> Iterator[Case]:
        """The other jobs, with all that their judgement hangs on, the oldest work first."""
        order = "SELECT id FROM job ORDER BY coalesce(last, created), id"
        for (job_id,) in store.database.rows(order):
            if job_id not in settled:
                self.count += 1
                self._progress(self.count)
                job = store.get(job_id)
                yield JobCase(
                    _name(job.id, job.site), job.checklist, job.site_text, job.subject,
                    store.entries(job.id),
                )  # fmt: skip

    def lines(self) -> Iterator[str]:
        """How many were judged, and what is found otherwise."""
        if self._alike:
            why = "nothing that changed can act: nothing it hangs on was read"
            yield f"In {self._alike} cases {why}."
        yield f"{self.count} cases judged by both, {self._different} of them differently."
        yield from self._totals.lines()


def _named(judged: Iterable[Judged]) -> Iterator[Differs]:
    return (Differs(each.name, each.otherwise) for each in judged)


def _with_heads(path: Path, blocks: Iterable[Settled]) -> Iterator[tuple[Heads, Settled]]:
    from expert.columns.parquet import block_heads

    yield from zip(block_heads(path), blocks, strict=False)


def _name(job_id: str, site: str) -> str:
    return f"{job_id}, {site}"


def _as_they_are(store: JobStore, heads: Sequence[tuple[str, str]]) -> dict[tuple[str, str], str]:
    """The sites of those finished jobs of which the last entry still is the one that is named."""
    wanted = {f"j{number}": job for number, (job, _) in enumerate(heads)}
    rows = store.database.rows(
        "SELECT id, chain, site FROM job WHERE finished IS NOT NULL "  # noqa: S608
        f"AND id IN ({', '.join(f':{name}' for name in wanted)})",
        wanted,
    )
    return {(str(job), str(chain)): str(site) for job, chain, site in rows}
