"""Jobs judged again by one rulebase from their columns, as figures and not job by job."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from expert.columns.batch import Batch, Flags, Ints
from expert.columns.column_judge import ColumnJudge
from expert.columns.figures_again import FiguresAgain, Worded, worded
from expert.columns.known_values import Became
from expert.columns.said import AllSaid
from expert.columns.still_holding import StillHolding
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import Checklist

_NO_VIEW = -1


class JudgedAgain:
    """Adds up block after block. Only outcomes with one of some answers are counted.

    Raises TooLarge for a rulebase that does not fit into columns.
    """

    def __init__(
        self, rulebase: Rulebase, checklists: Mapping[str, Checklist], answered: Collection[str]
    ) -> None:
        self._judge = ColumnJudge(rulebase, AllSaid())
        self._holding = StillHolding(self._judge, checklists)
        self._answered = answered

    def add(self, batch: Batch, wanted: Sequence[bool], figures: FiguresAgain) -> Flags:
        """Count those jobs of a block that are wanted and that its columns settle; which."""
        self._judge.said.bound()
        found = self._judge.judge(batch)
        settled = ~found.open_jobs & ~self._holding.overtaken(batch)
        jobs: Flags = np.array(wanted, dtype=bool) & settled
        figures.jobs += int(jobs.sum())
        self._told(batch, jobs, figures)
        self._now(batch, found.said, jobs & (batch.lists["holds_told"] == 1), figures)
        self._outcomes(batch, found.said, jobs, figures)
        return jobs

    def _told(self, batch: Batch, jobs: Flags, figures: FiguresAgain) -> None:
        lists, names = batch.lists, batch.names.of
        rows = jobs[lists["told_job"]]
        width = max(len(names["certainty"]), 1)
        both = lists["told_cause"][rows].astype(np.int64) * width + lists["told_words"][rows]
        each = np.unique(np.stack([lists["told_job"][rows], both]), axis=1)[1]
        for key, count in zip(*np.unique(each, return_counts=True), strict=True):
            cause, words = divmod(int(key), width)
            figures.told[names["cause"][cause], names["certainty"][words]] += int(count)

    def _now(self, batch: Batch, said: Ints, jobs: Flags, figures: FiguresAgain) -> None:
        views = batch.judged & (batch.group % 2 == 0) & jobs[batch.job_of_view]
        owner, numbers = batch.job_of_view[views], said[views]
        _, place, times = np.unique(owner, return_inverse=True, return_counts=True)
        alone = times[place] == 1
        for number, count in zip(*np.unique(numbers[alone], return_counts=True), strict=True):
            for each in self._worded(int(number)):
                figures.now[each] += int(count)
        several: dict[int, set[Worded]] = {}
        for job, number in zip(owner[~alone].tolist(), numbers[~alone].tolist(), strict=True):
            several.setdefault(job, set()).update(self._worded(number))
        for found in several.values():
            figures.now.update(found)

    def _worded(self, number: int) -> set[Worded]:
        return worded(self._judge.said.said[number].found)

    def _outcomes(self, batch: Batch, said: Ints, jobs: Flags, figures: FiguresAgain) -> None:
        lists, names = batch.lists, batch.names.of
        answers = [number for number, name in enumerate(names["answer"]) if name in self._answered]
        rows = np.flatnonzero(jobs[lists["became_job"]] & np.isin(lists["became_answer"], answers))
        columns = [lists[f"became_{what}"][rows].tolist() for what in _BECAME]
        columns += [
            _said_there(batch, said, lists["became_job"][rows], lists["became_subject"][rows], left)
            for left in (0, 1)
        ]
        for key, count in Counter(zip(*columns, strict=True)).items():
            _, told, actual, answer, found, left = key
            became = Became(
                "", names["cause"][told], names["cause"][actual], names["answer"][answer]
            )
            figures.outcome(
                became, self._causes(found), None if left == _NO_VIEW else self._causes(left), count
            )

    def _causes(self, number: int) -> list[str]:
        if number == _NO_VIEW:
            return []
        return [each.cause for each in self._judge.said.said[number].found]


_BECAME = ("subject", "told", "actual", "answer")


def _said_there(batch: Batch, said: Ints, job: Ints, subject: Ints, left: int) -> list[int]:
    """What is told of subjects of jobs in a stage, _NO_VIEW where they are not judged in it."""
    width = len(batch.names.of["subject"]) + 1
    judged = np.flatnonzero(batch.judged)
    keys = batch.group[judged] * width + batch.lists["view_subject"][judged]
    order = np.argsort(keys, kind="stable")
    wanted = (2 * job.astype(np.int64) + left) * width + subject
    at = np.searchsorted(keys[order], wanted)
    found = np.full(len(wanted), _NO_VIEW)
    there = at < len(order)
    there[there] = keys[order][at[there]] == wanted[there]
    found[there] = said[judged[order[at[there]]]]
    numbers: list[int] = found.tolist()
    return numbers
