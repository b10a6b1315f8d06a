"""Recorded jobs judged by two rulebases from their columns; what these do not settle is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from expert.author.comparison.backtest import JudgedBy
from expert.author.comparison.otherwise import Otherwise, otherwise
from expert.columns.batch import Batch, Flags, Ints
from expert.columns.column_judge import BatchVerdicts, ColumnJudge
from expert.columns.parquet import batches
from expert.columns.said import AllSaid
from expert.columns.stage_verdict import StageVerdict, on_member
from expert.columns.still_holding import StillHolding
from expert.procedure.world import AS_FOUND, AS_LEFT

Head = tuple[str, str]
_View = tuple[int, str, int, int]  # as left, the member, what is told by each rulebase, by number
_KEPT = 100_000  # of what is different; then it is begun anew, so that memory stays bounded


@dataclass(frozen=True)
class Settled:
    """What the columns of a block settle: a bit for each of its jobs, how many that are, and what
    is different in those of them (by their place) that are judged otherwise.

    It is sent from one machine to another, so it holds nothing that its file holds.
    """

    bits: bytes
    count: int
    different: tuple[tuple[int, Otherwise], ...]

    def of(self, jobs: Sequence[Head]) -> tuple[Head, ...]:
        """Those of the jobs of the block that are settled."""
        flags = np.unpackbits(np.frombuffer(self.bits, np.uint8), count=len(jobs))
        return tuple(jobs[place] for place in np.flatnonzero(flags).tolist())


class ColumnComparison:
    """Two rulebases over blocks of columns. Raises TooLarge where one does not fit into these."""

    def __init__(self, before: JudgedBy, after: JudgedBy) -> None:
        self._said = AllSaid()
        self._judges = [ColumnJudge(by.rulebase, self._said) for by in (before, after)]
        self._holding = [
            StillHolding(judge, by.checklists(by.rulebase))
            for judge, by in zip(self._judges, (before, after), strict=True)
        ]
        self._otherwise: dict[tuple[_View, ...], Otherwise] = {}
        self._turn = self._said.turn

    def in_file(self, path: Path) -> Iterator[Settled]:
        """What the columns of a file settle, block after block."""
        return map(self.settled, batches(path))

    def settled(self, batch: Batch) -> Settled:
        """What the columns of a block settle."""
        self._said.bound()
        before, after = (judge.judge(batch) for judge in self._judges)
        kept: Flags = ~(before.open_jobs | after.open_jobs)
        for holding in self._holding:
            kept &= ~holding.overtaken(batch)
        other = np.zeros(len(batch.jobs), dtype=bool)
        other[batch.job_of_view[before.said != after.said]] = True
        different = self._different(batch, np.flatnonzero(other & kept), before, after)
        return Settled(np.packbits(kept).tobytes(), int(kept.sum()), tuple(different))

    def _different(
        self, batch: Batch, jobs: Ints, before: BatchVerdicts, after: BatchVerdicts
    ) -> Iterator[tuple[int, Otherwise]]:
        if self._turn != self._said.turn or len(self._otherwise) > _KEPT:
            self._turn = self._said.turn
            self._otherwise.clear()
        first = np.searchsorted(batch.job_of_view, jobs).tolist()
        last = np.searchsorted(batch.job_of_view, jobs, side="right").tolist()
        names = batch.names.of["subject"]
        subjects, group = batch.lists["view_subject"].tolist(), batch.group.tolist()
        home, judged = batch.home.tolist(), batch.judged.tolist()
        had, have = before.said.tolist(), after.said.tolist()
        for job, start, end in zip(jobs.tolist(), first, last, strict=True):
            key = tuple(
                (group[v] % 2, "" if home[v] else names[subjects[v]], had[v], have[v])
                for v in range(start, end)
                if judged[v]
            )
            found = self._otherwise.get(key)
            if found is None:
                found = self._otherwise[key] = otherwise(
                    tuple(self._verdict(as_left, member, was) for as_left, member, was, _ in key),
                    tuple(self._verdict(as_left, member, now) for as_left, member, _, now in key),
                )
            if found.lines:
                yield job, found

    def _verdict(self, as_left: int, member: str, said: int) -> StageVerdict:
        """A verdict on a job as `verdicts_on` gives it."""
        told = self._said.said[said]
        stage = AS_LEFT if as_left else AS_FOUND
        return StageVerdict(
            on_member(stage, member) if member else stage, told.found, told.held_back
        )
