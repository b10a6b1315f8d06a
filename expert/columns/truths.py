"""The truth of conditions over all views of a batch: 1 true, -1 false, 0 unknown.

The same as `inference/truth.py`, which is its judge in the tests, condition by condition.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import NO_NUMBERS, NO_WORDS, NOTHING, Batch, Flags, Floats, Ints
from expert.columns.limit_bands import Bands
from expert.columns.series_truth import course_truths
from expert.inference.kleene import Truth, all_
from expert.inference.truth import TOO_CLOSE, Facts
from expert.knowledge.conditions import (
    KNOWN,
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
    quantities_anywhere,
)
from expert.knowledge.model import Quantity
from expert.procedure.world import AS_FOUND, AS_LEFT

Truths = NDArray[np.int8]
TRUE, UNKNOWN, FALSE = np.int8(1), np.int8(0), np.int8(-1)
_TINY = 1e-9  # as in `inference/truth.py`


def number_of(truth: Truth) -> np.int8:
    """A truth as it stands in an array."""
    return UNKNOWN if truth is None else TRUE if truth else FALSE


def all_of(truths: Sequence[Truths], views: int) -> Truths:
    """And, over each view."""
    if not truths:
        return np.full(views, TRUE)
    found = truths[0]
    for each in truths[1:]:
        found = np.minimum(found, each)
    return found


def any_true(truths: Sequence[Truths], views: int) -> Flags:
    """Whether one of some is known to be true, over each view."""
    found = np.zeros(views, dtype=bool)
    for each in truths:
        found |= each == TRUE
    return found


def at_least_of(count: int | Ints, certain: Ints, unknown: Ints) -> Truths:
    """At least so many, from how many are true and how many unknown."""
    found = np.where(certain + unknown >= count, UNKNOWN, FALSE)
    return np.where(certain >= count, TRUE, found).astype(np.int8)


class ViewTruths:
    """Truths over a batch. `signs` gives that of a sign, once its rules can be judged."""

    def __init__(
        self,
        batch: Batch,
        bands: Bands,
        kinds: NDArray[np.str_],
        quantities: Mapping[str, Quantity],
        names: Mapping[int, str],
        signs: Callable[[str], Truths],
    ) -> None:
        self.batch = batch
        self._bands = bands
        self._kinds = kinds  # of each view
        self._quantities = quantities
        self._names = names
        self._signs = signs
        self._nothing = np.zeros(batch.views, dtype=np.int8)
        self._kept: dict[str, Truths] = {}
        self._blocked: dict[str, Flags] = {}
        self._values: dict[str, tuple[Floats, Floats]] = {}
        self.open_jobs = np.zeros(len(batch.jobs), dtype=bool)

    def of(self, condition: Condition) -> Truths:
        """The truth of a condition over each view; not to be changed."""
        name = self._names.get(id(condition)) or str(condition)
        if name not in self._kept:
            self._kept[name] = self._judge(condition)
        return self._kept[name]

    def _judge(self, condition: Condition) -> Truths:
        if isinstance(condition, Is):
            truth = self._is(condition)
            return -truth if condition.negated else truth
        if isinstance(condition, HasSign):
            truth = self._signs(condition.sign)
            return -truth if condition.negated else truth
        if isinstance(condition, Group):
            return self._group(condition)
        if isinstance(condition, Compare):
            return self._compare(condition)
        if isinstance(condition, Course):
            return course_truths(condition, self.batch, self._quantities)
        if isinstance(condition, InStage):
            return self._in_stage(condition)
        return self._over(condition)

    def _group(self, group: Group) -> Truths:
        truths = [self.of(member) for member in group.members]
        if group.at_least == len(truths):
            return all_of(truths, self.batch.views)
        if group.at_least == 1:
            return -all_of([-each for each in truths], self.batch.views)
        certain, unknown = np.zeros((2, self.batch.views), dtype=np.int64)
        for truth in truths:
            certain += truth == TRUE
            unknown += truth == UNKNOWN
        return at_least_of(group.at_least, certain, unknown)

    def _is(self, condition: Is) -> Truths:
        name = condition.quantity
        numbers = self.batch.numbers.get(name, NO_NUMBERS)
        said = self.batch.words.get(name, NO_WORDS)
        if condition.word == KNOWN:
            found = np.full(self.batch.views, FALSE)
            found[numbers.view], found[said.view] = TRUE, TRUE
            return found
        if not len(numbers.view) and not len(said.view):
            return self._nothing
        found = np.zeros(self.batch.views, dtype=np.int8)
        if len(said.view):
            words = self.batch.names.word_numbers
            wanted = said.word == words.get(condition.word, NOTHING)
            if self._bands.in_words(name):
                wanted |= said.word == words.get(f"very {condition.word}", NOTHING)
            found[said.view] = np.where(wanted, TRUE, FALSE)
        if len(numbers.view):
            truth = self._bands.truths(name, numbers).get(condition.word)
            if truth is not None:
                blocked = self.blocked(name)[numbers.view]
                found[numbers.view] = np.where(blocked, UNKNOWN, truth)
        return found

    def too_close(self, quantity: str) -> Flags:
        """Where a number lies within its own uncertainty of a limit."""
        close: Flags = self.of(Is(quantity, TOO_CLOSE)) == TRUE
        return close

    def blocked(self, quantity: str) -> Flags:
        """Where a reason is known not to hold a quantity against its limit."""
        if quantity not in self._blocked:
            blocked = np.zeros(self.batch.views, dtype=bool)
            for limit, where in self._bands.with_reasons(quantity):
                reasons = [self.of(each) for each in limit.cannot_judge_when]
                blocked |= where & any_true(reasons, self.batch.views)
            self._blocked[quantity] = blocked
        return self._blocked[quantity]

    def _dense(self, quantity: str) -> tuple[Floats, Floats]:
        """Value and uncertainty of a number in each view, NaN where it is not known as one."""
        if quantity not in self._values:
            value, spread = np.full((2, self.batch.views), np.nan)
            numbers = self.batch.numbers.get(quantity, NO_NUMBERS)
            value[numbers.view], spread[numbers.view] = numbers.value, numbers.plus_minus
            self._values[quantity] = value, spread
        return self._values[quantity]

    def _compare(self, condition: Compare) -> Truths:
        names = [term.quantity for term in condition.terms if term.quantity]
        rows = np.arange(self.batch.views)
        for name in names[:1]:
            numbers = self.batch.numbers.get(name, NO_NUMBERS)
            rows = np.concatenate([numbers.view, self.batch.words.get(name, NO_WORDS).view])
        if not len(rows):
            return self._nothing
        with np.errstate(invalid="ignore"):
            return self._sum(condition, rows)

    def _sum(self, condition: Compare, rows: Ints) -> Truths:
        """The truth of a comparison in some views, unknown in all others."""
        total, variance, below, above = np.zeros((4, len(rows)))
        known = np.ones(len(rows), dtype=bool)
        for term in condition.terms:
            if not term.quantity:
                total += term.factor * term.value
                continue
            value, spread = (each[rows] for each in self._dense(term.quantity))
            number = ~np.isnan(value)
            total += np.where(number, term.factor * value, 0.0)
            variance += np.where(number, spread * spread, 0.0)
            if not number.all():  # ends may lie infinitely far off on both sides
                low, high = self._ends(term.quantity, rows)
                first, last = term.factor * low, term.factor * high
                if term.factor < 0:
                    first, last = last, first
                below += np.where(number, 0.0, first)
                above += np.where(number, 0.0, last)
                known &= number | ~np.isnan(low)
        spread = np.sqrt(variance)
        truth = _beyond(total + below - spread, total + above + spread, condition.operator)
        found = np.zeros(self.batch.views, dtype=np.int8)
        found[rows] = np.where(known, truth, UNKNOWN)
        return found

    def _ends(self, quantity: str, rows: Ints) -> tuple[Floats, Floats]:
        """Between what a number lies that is known only in words, NaN where that is not known."""
        low, high = np.full((2, self.batch.views), np.nan)
        said = self.batch.words.get(quantity, NO_WORDS)
        if len(said.view) and self._bands.in_words(quantity):
            low[said.view], high[said.view] = self._bands.ends(
                quantity, said, self.batch.names.of["word"]
            )
            blocked = self.blocked(quantity)
            low[blocked], high[blocked] = np.nan, np.nan
        return low[rows], high[rows]

    def _in_stage(self, condition: InStage) -> Truths:
        here = all_of([self.of(each) for each in condition.members], self.batch.views)
        as_left = self.batch.group % 2 == 1
        if condition.stage == AS_LEFT:
            return np.where(as_left, here, UNKNOWN)
        assert condition.stage == AS_FOUND
        before = np.where(self.batch.before == NOTHING, UNKNOWN, here[self.batch.before])
        return np.where(as_left, before, here)

    def _over(self, condition: Over) -> Truths:
        batch, members = self.batch, list(condition.members)
        groups = 2 * len(batch.jobs)
        own = self._kinds == condition.kind
        truth = all_of([self.of(each) for each in members], batch.views)
        seen = np.bincount(batch.group[own], minlength=groups)
        certain = np.bincount(batch.group[own & (truth == TRUE)], minlength=groups)
        unknown = np.bincount(batch.group[own & (truth == UNKNOWN)], minlength=groups)
        count, beside = self._members(condition, groups)
        others = number_of(all_(map(Facts({}, {}, {}).holds, members)))
        unseen = count - seen
        certain = certain + unseen * (others == TRUE)
        unknown = unknown + unseen * (others == UNKNOWN)
        doubtful = np.flatnonzero(beside & (unseen > 0))
        self.open_jobs[doubtful // 2] = True
        if condition.count == "no":
            found = -at_least_of(1, certain, unknown)
        else:
            wanted = {"every": count, "any": np.ones_like(count), "most": count // 2 + 1}
            least = wanted.get(condition.count, np.full_like(count, condition.at_least))
            found = at_least_of(least, certain, unknown)
        return np.where(count > 0, found, UNKNOWN)[batch.group]

    def _members(self, condition: Over, groups: int) -> tuple[Ints, Flags]:
        """How many members of a kind there are, and where of one without a view something is
        known that the condition looks at."""
        batch = self.batch
        kinds = {kind: number for number, kind in enumerate(batch.names.of["kind"])}
        number = kinds.get(condition.kind, NOTHING)
        looked_at = set(quantities_anywhere(condition))
        quantities = enumerate(batch.names.of["quantity"])
        known = np.isin(batch.lists["beside"], [n for n, name in quantities if name in looked_at])
        rows = np.repeat(np.arange(len(batch.lists["kind"])), batch.lists["kind_beside"])
        touched = np.zeros(len(batch.lists["kind"]), dtype=bool)
        touched[rows[known]] = True
        count, beside = np.zeros(groups, dtype=np.int64), np.zeros(groups, dtype=bool)
        of_kind = batch.lists["kind"] == number
        where = batch.lists["kind_group"][of_kind]
        count[where] = batch.lists["kind_count"][of_kind]
        beside[where] = touched[of_kind]
        return count, beside


def _beyond(low: Floats, high: Floats, operator: str) -> Truths:
    """Whether sums that lie between two ends are above or below zero."""
    if operator in ("<", "<="):
        low, high, operator = -high, -low, operator.replace("<", ">")
    ends = [end > _TINY if operator == ">" else end >= -_TINY for end in (low, high)]
    return np.where(ends[0] == ends[1], np.where(ends[0], TRUE, FALSE), UNKNOWN)
