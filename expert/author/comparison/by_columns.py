"""Recorded jobs judged by two rulebases from their columns; what these do not settle is left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from expert.author.comparison.backtest import Judged, JudgedBy
from expert.columns.batch import Batch, Flags
from expert.columns.column_judge import BatchVerdicts, ColumnJudge
from expert.columns.said import AllSaid
from expert.columns.stage_verdict import StageVerdict, on_member
from expert.columns.still_holding import StillHolding
from expert.procedure.world import AS_FOUND, AS_LEFT


@dataclass(frozen=True)
class Settled:
    """The jobs of a block that its columns settle, and those of them that are judged differently,
    each with its head."""

    jobs: tuple[str, ...]
    different: tuple[tuple[Judged, tuple[str, str]], ...]


class ColumnComparison:
    """Two rulebases over blocks of columns. Raises TooLarge where one does not fit into these."""

    def __init__(self, before: JudgedBy, after: JudgedBy) -> None:
        self._said = AllSaid()
        self._judges = [ColumnJudge(by.rulebase, self._said) for by in (before, after)]
        self._holding = [
            StillHolding(judge, by.checklists(by.rulebase))
            for judge, by in zip(self._judges, (before, after), strict=True)
        ]

    def settled(self, batch: Batch, wanted: Sequence[bool]) -> Settled:
        """What the columns settle of the jobs that are wanted."""
        before, after = (judge.judge(batch) for judge in self._judges)
        kept: Flags = np.array(wanted, dtype=bool)
        kept &= ~(before.open_jobs | after.open_jobs)
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
            different.append((Judged(head[0], had, have), head))
        return Settled(
            tuple(batch.jobs[job][0] for job in np.flatnonzero(kept).tolist()), tuple(different)
        )

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
