"""Recorded jobs judged by two rulebases from their columns; what these do not settle is left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from expert.author.comparison.backtest import Judged, JudgedBy
from expert.columns.batch import Batch, Flags
from expert.columns.column_judge import BatchVerdicts, ColumnJudge
from expert.columns.parquet import batches
from expert.columns.said import AllSaid
from expert.columns.stage_verdict import StageVerdict, on_member
from expert.columns.still_holding import StillHolding
from expert.procedure.world import AS_FOUND, AS_LEFT

Head = tuple[str, str]


@dataclass(frozen=True)
class Settled:
    """The jobs of a block that its columns settle, as id and hash of the last entry; and those of
    them that are judged differently."""

    jobs: tuple[Head, ...]
    different: tuple[tuple[Head, Judged], ...]


class ColumnComparison:
    """Two rulebases over blocks of columns. Raises TooLarge where one does not fit into these."""

    def __init__(self, before: JudgedBy, after: JudgedBy) -> None:
        self._said = AllSaid()
        self._judges = [ColumnJudge(by.rulebase, self._said) for by in (before, after)]
        self._holding = [
            StillHolding(judge, by.checklists(by.rulebase))
            for judge, by in zip(self._judges, (before, after), strict=True)
        ]

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
        ends = np.searchsorted(batch.job_of_view, np.arange(len(batch.jobs) + 1)).tolist()
        different = []
        for job in np.flatnonzero(other & kept).tolist():
            views = range(ends[job], ends[job + 1])
            head = batch.jobs[job]
            had, have = (tuple(self._verdicts(batch, each, views)) for each in (before, after))
            different.append((head, Judged(head[0], had, have)))
        kept_jobs = np.flatnonzero(kept).tolist()
        return Settled(tuple(batch.jobs[job] for job in kept_jobs), tuple(different))

    def _verdicts(self, batch: Batch, found: BatchVerdicts, views: range) -> Iterator[StageVerdict]:
        """The verdicts on a job as `verdicts_on` gives them."""
        subjects = batch.names.of["subject"]
        for view in views:
            if not batch.judged[view]:
                continue
            said = self._said.said[int(found.said[view])]
            stage = AS_LEFT if batch.group[view] % 2 else AS_FOUND
            if not batch.home[view]:
                stage = on_member(stage, subjects[batch.lists["view_subject"][view]])
            yield StageVerdict(stage, said.found, said.held_back)
