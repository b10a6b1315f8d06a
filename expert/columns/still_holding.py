"""Whether values that were made under one rulebase are those that another would make."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from expert.columns.asked_limits import ASKED, NO_LIMIT, NOT_JUDGED
from expert.columns.batch import NOTHING, Batch, Flags, Ints
from expert.columns.column_judge import ColumnJudge
from expert.columns.frame import Frame, frame_of
from expert.columns.limit_bands import Bands
from expert.procedure.checklist import Checklist


class StillHolding:
    """Holds batches against the frames of a rulebase and its checklists."""

    def __init__(self, judge: ColumnJudge, checklists: Mapping[str, Checklist]) -> None:
        self._judge = judge
        self._checklists = checklists
        self._frames: dict[str, Frame] = {}

    def overtaken(self, batch: Batch) -> Flags:
        """The jobs whose values would be others now, or may be."""
        names, lists = batch.names, batch.lists
        frames = [names.frames[each] for each in names.of["frame"]]
        now = [self._now(each) for each in frames]
        outside = [
            new is None or not old.holds_under(new) for old, new in zip(frames, now, strict=True)
        ]
        found: Flags = np.array(outside, dtype=bool)[lists["frame"]]
        quantities = names.of["quantity"]
        lifted = np.zeros((len(frames), len(quantities)), dtype=bool)
        for row, (old, new) in enumerate(zip(frames, now, strict=True)):
            if new is not None:
                gone = old.lifted(new)
                lifted[row] = [name in gone for name in quantities]
        jobs, asked = lists["asked_job"], lists["asked_quantity"]
        other = lifted[lists["frame"][jobs], asked] | (
            self._answers(batch) != lists["asked_answer"]
        )
        found[jobs[other]] = True
        return found

    def _now(self, made: Frame) -> Frame | None:
        name = made.checklist.partition(" ")[0]
        if name not in self._frames and name in self._checklists:
            self._frames[name] = frame_of(self._checklists[name], self._judge.rulebase)
        return self._frames.get(name)

    def _answers(self, batch: Batch) -> Ints:
        """What limits answer now to what the plans of the jobs asked them."""
        lists = batch.lists
        site = lists["site"].astype(np.int64)[lists["asked_job"]]
        plant, _ = self._judge.placed(batch, site, lists["asked_subject"])
        bands = Bands(self._judge.plants, plant)
        found = np.full(len(plant), NO_LIMIT, dtype=np.int64)
        for number in np.unique(lists["asked_quantity"]):
            rows = np.flatnonzero(lists["asked_quantity"] == number)
            limit = bands.limit_of(batch.names.of["quantity"][number], plant[rows])
            truths = bands.bands(limit, lists["asked_value"][rows], lists["asked_plus_minus"][rows])
            answer = np.zeros(len(rows), dtype=np.int64)
            for word in ASKED if truths else ():
                answer = 3 * answer + truths[word] + 1
            # what kept a value from being judged are conditions that were asked as well
            kept = lists["asked_answer"][rows] == NOT_JUDGED
            answer = np.where(kept, NOT_JUDGED, answer)
            found[rows] = np.where(limit == NOTHING, NO_LIMIT, answer)
        return found
