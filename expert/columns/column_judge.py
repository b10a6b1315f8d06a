"""Judges batches of jobs by one rulebase, all views at once; the same as the engine says of each.

Numbers become truths, truths firing rules, rules the evidence of each cause: all as arrays. What
remains to be worked out one by one (a certainty from pieces of evidence, an order of causes) is so
often the same that it is done by the engine's own code once for each key and kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import NOTHING, Batch, Flags, Ints
from expert.columns.compiled_rules import CauseRules, CompiledRules, Grade
from expert.columns.limit_bands import Bands
from expert.columns.plant_kinds import PlantKinds
from expert.columns.said import AllSaid, said_of
from expert.columns.states_seen import MadeReaches, SeenStates
from expert.columns.truths import FALSE, TRUE, Truths, ViewTruths, all_of, any_true
from expert.knowledge.model import Rule, Rulebase

_KEPT = 200_000  # keys of what is told; then it is begun anew, so that memory stays bounded


@dataclass(frozen=True)
class BatchVerdicts:
    """What is told in each view, by its number in `AllSaid`; and the jobs that are not settled
    here, since more bears on them than is kept in columns."""

    said: Ints
    open_jobs: Flags


class ColumnJudge:
    """One rulebase over batches of views. Raises TooLarge for one that keys do not hold."""

    def __init__(self, rulebase: Rulebase, said: AllSaid) -> None:
        self.rulebase = rulebase
        self.said = said
        self.plants = PlantKinds(rulebase)
        self._compiled = CompiledRules(rulebase)
        self._grades: dict[tuple[int, int], int] = {}
        self._known_grades: list[Grade] = []
        self._grade_numbers: dict[Grade, int] = {}
        self.reaches: MadeReaches = {}
        self._told: dict[tuple[bytes, int], int] = {}
        self._beyond: dict[tuple[int, int], int] = {}
        self._turn = said.turn

    def judge(self, batch: Batch) -> BatchVerdicts:
        """What is told in every view of some jobs."""
        if self._turn != self.said.turn:  # the numbers that are kept hold no more
            self._turn = self.said.turn
            self._told.clear()
            self._beyond.clear()
        return _OneBatch(self, self._compiled, batch).verdicts()

    def placed(self, batch: Batch, site: Ints, subject: Ints) -> tuple[Ints, NDArray[np.str_]]:
        """The kinds of plant (NOTHING where a site cannot be read) of subjects of sites, both as
        numbers of a batch's names; and what each is, a circuit or a rack."""
        names = batch.names
        width = len(names.of["subject"])
        pairs, place = np.unique(site * width + subject, return_inverse=True)
        found = []
        for pair in map(int, pairs):
            site_hash = names.of["site"][pair // width]
            on = names.of["subject"][pair % width]
            found.append(self.plants.placed(site_hash, names.site_texts[site_hash], on))
        numbers = np.array([each.plant for each in found], dtype=np.int64)
        kinds = np.array([each.kind for each in found], dtype=np.str_)
        return numbers[place], kinds[place]

    def grade(self, cause: CauseRules, keys: Ints) -> Ints:
        """The number of the grade that each key comes to, NOTHING below the threshold."""
        scale, kept = self.rulebase.certainty, self._grades
        each, place = np.unique(keys, return_inverse=True)
        found = []
        for key in map(int, each):
            number = kept.get((cause.number, key))
            if number is None:
                grade = cause.grade(key, scale)
                number = NOTHING
                if grade.certainty >= scale.threshold:
                    number = self._grade_numbers.setdefault(grade, len(self._known_grades))
                    if number == len(self._known_grades):
                        self._known_grades.append(grade)
                kept[cause.number, key] = number
            found.append(number)
        return np.array(found, dtype=np.int64)[place]

    def told(self, key: bytes, shut: int, view: int, seen: SeenStates) -> int:
        """The number of what is told where some causes have some grades."""
        number = self._told.get((key, shut))
        if number is None:
            if len(self._told) >= _KEPT:
                self._told.clear()
            rows = np.frombuffer(key, dtype=np.int64).reshape(-1, 3)
            grades = {int(cause): self._known_grades[grade] for cause, grade, _ in rows}
            actions = self._compiled.actions
            held = [action for place, action in enumerate(actions) if shut >> place & 1]
            said = said_of(self._compiled, grades, seen.acting(view), held)
            number = self._told[key, shut] = self.said.number(said)
        return number

    def beyond(self, own: int, whole: int) -> int:
        """The number of what is told of a member beyond what is told of the whole."""
        number = self._beyond.get((own, whole))
        if number is None:
            if len(self._beyond) >= _KEPT:
                self._beyond.clear()
            said = self.said.said
            number = self._beyond[own, whole] = self.said.number(said[own].beyond(said[whole]))
        return number


class _OneBatch:
    """The judgement of one batch."""

    def __init__(self, judge: ColumnJudge, compiled: CompiledRules, batch: Batch) -> None:
        self._judge = judge
        self._compiled = compiled
        self._batch = batch
        site = batch.lists["site"].astype(np.int64)[batch.job_of_view]
        plant, kinds = judge.placed(batch, site, batch.lists["view_subject"])
        self._plant = plant
        self.bands = Bands(judge.plants, plant)
        self._rules: dict[str, Truths] = {}
        # no way back from there to here: arrays in a circle would wait for the garbage collector
        signs = cache(partial(_sign, compiled.concluding, self._rules, batch.views))
        quantities = judge.rulebase.quantities
        self._truths = ViewTruths(batch, self.bands, kinds, quantities, compiled.names, signs)
        self._fits: dict[object, Flags] = {}

    def verdicts(self) -> BatchVerdicts:
        """What is told in each view."""
        batch = self._batch
        for rule in self._compiled.in_order:
            self._rules[rule.id] = self._rule(rule)
        seen = SeenStates(self._compiled, self._truths, self._judge.reaches)
        said = self._members(self._told(seen))
        open_jobs = self._truths.open_jobs | (batch.lists["whole"] == 0)
        open_jobs[batch.job_of_view[self._plant == NOTHING]] = True
        return BatchVerdicts(said, open_jobs)

    def _rule(self, rule: Rule) -> Truths:
        """Whether a rule fires, as `rule_truth`; false where it does not apply."""
        views = self._batch.views
        truth = all_of([self._truths.of(each) for each in rule.when], views)
        stopped = ~self._fitting(rule)
        if rule.unless:
            stopped |= any_true([self._truths.of(each) for each in rule.unless], views)
        return np.where(stopped, FALSE, truth)

    def _fitting(self, rule: Rule) -> Flags:
        key = tuple(sorted(rule.applies.items()))
        if key not in self._fits:
            fits = np.append(self._judge.plants.fitting(rule.applies), False)
            self._fits[key] = fits[self._plant]
        return self._fits[key]

    def _told(self, seen: SeenStates) -> Ints:
        """What is told in each view by itself."""
        batch = self._batch
        shut = self._shut()
        in_words = self._in_words()
        rows: list[Ints] = []
        for cause in self._compiled.causes:
            found = self._cause(cause, seen, in_words)
            if found is not None:
                rows.append(found)
        said = np.zeros(batch.views, dtype=np.int64)
        if not rows:
            return said
        # cause after cause in each view, so that the same set has the same key
        all_rows = np.concatenate(rows)
        all_rows = all_rows[np.argsort(all_rows[:, 0], kind="stable")]
        view, begins = np.unique(all_rows[:, 0], return_index=True)
        masks = self._compiled.action_masks[all_rows[:, 1]]
        held = shut[view] & np.bitwise_or.reduceat(masks, begins)
        ends = np.append(begins[1:], len(all_rows)) * 24
        keys = np.ascontiguousarray(all_rows[:, 1:]).tobytes()
        told, begins = self._judge.told, begins * 24
        said[view] = [
            told(keys[start:end], bits, number, seen)
            for start, end, bits, number in zip(
                begins.tolist(), ends.tolist(), held.tolist(), view.tolist(), strict=True
            )
        ]
        return said

    def _cause(
        self, cause: CauseRules, seen: SeenStates, in_words: Mapping[str, Flags]
    ) -> Ints | None:
        """View, cause, grade and acting arrows wherever a cause is found."""
        fired = [(each, self._rules[each.rule.id] == TRUE) for each in cause.evidence]
        supporting = [flags for each, flags in fired if each.sign > 0]
        if not supporting:
            return None
        found = np.logical_or.reduce(supporting)
        if not found.any():
            return None
        for condition in cause.cause.can_be_when:
            found &= self._truths.of(condition) != FALSE
        rows = np.flatnonzero(found)
        if not len(rows):
            return None
        slots = len(cause.slot)
        keys = np.zeros(len(rows), dtype=np.int64)
        was_seen = np.zeros(len(rows), dtype=bool)
        for each, flags in fired:
            here = flags[rows]
            if each.rule.seen and each.sign > 0:
                was_seen |= here
            slot = cause.slot[each.sign, each.strength]
            less = in_words.get(each.rule.id)
            place = np.where(less[rows], slot + slots, slot) if less is not None else slot
            keys += here * np.array(cause.places)[place]
        codes = np.zeros(len(rows), dtype=np.int64)
        if cause.cause.acts_on:
            counts, codes = seen.counts(cause, rows)
            keys += counts @ np.array(cause.places[2 * slots : 2 * slots + 4])
        keys += was_seen * cause.places[-1]
        grade = self._judge.grade(cause, keys)
        kept = grade != NOTHING
        number = np.full(int(kept.sum()), cause.number)
        return np.stack([rows[kept], number, grade[kept], codes[kept]], axis=1)

    def _in_words(self) -> dict[str, Flags]:
        """The rules that rest on numbers known only in words, and in which views they do."""
        flags: dict[str, Flags] = {}
        for name, said in self._batch.words.items():
            if self.bands.in_words(name):
                flags[name] = np.zeros(self._batch.views, dtype=bool)
                flags[name][said.view] = True
        return {
            rule: np.logical_or.reduce([flags[name] for name in names & flags.keys()])
            for rule, names in self._compiled.rests_on.items()
            if names & flags.keys()
        }

    def _shut(self) -> Ints:
        """A bit for each gated action that is not to be advised, in each view."""
        views = self._batch.views
        found = np.zeros(views, dtype=np.int64)
        for gate in self._judge.rulebase.gates.values():
            if gate.action in self._compiled.actions:
                needs = [self._truths.of(each) for each in gate.needs]
                shut = all_of(needs, views) != TRUE
                if gate.never:
                    shut = np.ones(views, dtype=bool)
                found |= shut.astype(np.int64) << self._compiled.actions.index(gate.action)
        return found

    def _members(self, said: Ints) -> Ints:
        """What is told of members beyond what is told of the job's own subject."""
        batch = self._batch
        whole = np.zeros(2 * len(batch.jobs), dtype=np.int64)
        whole[batch.group[batch.home]] = said[batch.home]
        for view in np.flatnonzero(~batch.home & (said != 0)).tolist():
            said[view] = self._judge.beyond(int(said[view]), int(whole[batch.group[view]]))
        return np.where(batch.judged, said, 0)


def _sign(
    concluding: Mapping[str, Sequence[Rule]], rules: Mapping[str, Truths], views: int, sign: str
) -> Truths:
    """True where a rule concludes a sign, unknown where one still might, else false."""
    found = np.full(views, FALSE)
    for rule in concluding.get(sign, ()):
        found = np.maximum(found, rules[rule.id])
    return found
