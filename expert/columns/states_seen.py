"""What is odd about the plants of many views, and what of it each cause would explain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import Flags, Ints
from expert.columns.compiled_rules import CauseRules, CompiledRules
from expert.columns.truths import ViewTruths, all_of, any_true
from expert.inference.influences import Follows
from expert.inference.kleene import Truth
from expert.knowledge.influence_model import SeenIn

Masks = NDArray[np.uint64]  # a bit for each state, in words of 64
_OPEN = 9


@dataclass(frozen=True)
class Reaches:
    """What a cause does to each state, as masks: which way, whether surely."""

    high: Masks
    low: Masks
    told: Masks
    surely: Masks

    @property
    def moved(self) -> Masks:
        """The states of which it is told which way they go."""
        return self.high | self.low


MadeReaches = dict[tuple[int, int], Sequence[Reaches]]


class SeenStates:
    """The states of the plant over the views of a batch, and how causes fit them."""

    def __init__(self, compiled: CompiledRules, truths: ViewTruths, made: MadeReaches) -> None:
        self._compiled = compiled
        self._made = made  # kept from batch to batch
        self._states = tuple(compiled.rulebase.plant_states.values())
        self._width = max(ceil(len(self._states) / 64), 1)
        views = truths.batch.views
        self._high, self._low, self._normal = np.zeros((3, views, self._width), dtype=np.uint64)
        for number, state in enumerate(self._states):
            sense = _sense(state.seen_in, truths)
            word, bit = divmod(number, 64)
            for masks, wanted in ((self._high, 1), (self._low, -1), (self._normal, 0)):
                masks[:, word] |= (sense == wanted).astype(np.uint64) << np.uint64(bit)
        arrows = [
            all_of([truths.of(each) for each in arrow.when], views)
            for _, arrow in compiled.conditional
        ]
        # true is 2 and false 0, so that a number to the base of three holds them all
        self.arrows = np.array(arrows, dtype=np.int8).reshape(len(arrows), views).T + 1

    def counts(self, cause: CauseRules, rows: Ints) -> tuple[Ints, Ints]:
        """For some views how many states a cause explains, leaves, contradicts and may contradict;
        and a number that is the same where the same arrows that it reaches act."""
        ways_by_code, codes = self._ways(cause, rows)
        found = np.zeros((len(rows), 4), dtype=np.int64)
        for code, ways in ways_by_code.items():
            chosen = np.flatnonzero(codes == code)
            first = self._fit(ways[0], rows[chosen])
            for way in ways[1:]:
                other = self._fit(way, rows[chosen])
                less, same = other[:, 2] < first[:, 2], other[:, 2] == first[:, 2]
                better = less | (same & (other[:, 0] > first[:, 0]))
                first[better] = other[better]
            found[chosen] = first
        return found, codes

    def _ways(self, cause: CauseRules, rows: Ints) -> tuple[Mapping[int, Sequence[Reaches]], Ints]:
        reached = self._compiled.reached(cause)
        codes = np.zeros(len(rows), dtype=np.int64)
        for number in reached:
            codes = 3 * codes + self.arrows[rows, number]
        firsts = np.unique(codes, return_index=True)
        found = {}
        for code, first in zip(*firsts, strict=True):
            key = (cause.number, int(code))
            if key not in self._made:
                truths = self.acting(int(rows[first]))
                ways = self._compiled.reach.where(truths).ways(cause.cause)
                self._made[key] = [self._reaches(way) for way in ways]
            found[int(code)] = self._made[key]
        return found, codes

    def acting(self, view: int) -> tuple[Truth, ...]:
        """Whether each arrow acts in a view."""
        found: list[Truth] = [True] * len(self._compiled.reach.arrows)
        for (place, _), truth in zip(self._compiled.conditional, self.arrows[view], strict=True):
            found[place] = (False, None, True)[int(truth)]
        return tuple(found)

    def _reaches(self, way: Mapping[str, Follows]) -> Reaches:
        masks = np.zeros((4, self._width), dtype=np.uint64)
        for number, state in enumerate(self._states):
            if (told := way.get(state.id)) is not None:
                word, bit = divmod(number, 64)
                holds = (told.sense == 1, told.sense == -1, True, told.surely)
                for mask, flag in zip(masks, holds, strict=True):
                    mask[word] |= np.uint64(flag) << np.uint64(bit)
        return Reaches(*masks)

    def _fit(self, way: Reaches, rows: Ints) -> Ints:
        high, low, normal = self._high[rows], self._low[rows], self._normal[rows]
        odd = high | low
        explains = (high & way.high) | (low & way.low)
        leaves = odd & ~way.told
        other = (odd | normal) & way.told & ~explains
        against = other & way.surely
        doubtful = odd & other & ~way.surely & way.moved
        kinds = (explains, leaves, against, doubtful)
        return np.stack(
            [np.bitwise_count(each).sum(axis=1, dtype=np.int64) for each in kinds], axis=1
        )


def _sense(ways: Sequence[SeenIn], truths: ViewTruths) -> NDArray[np.int8]:
    """1 high, 0 normal, -1 low by the first way that is known, else _OPEN."""
    views = truths.batch.views
    sense = np.full(views, _OPEN, dtype=np.int8)
    undecided: Flags = np.ones(views, dtype=bool)
    for way in ways:
        for conditions, wanted in ((way.high, 1), (way.low, -1), (way.normal, 0)):
            if conditions:
                now = undecided & any_true([truths.of(each) for each in conditions], views)
                sense[now] = wanted
                undecided &= ~now
        if way.quantity:
            undecided &= ~truths.too_close(way.quantity)
    return sense
