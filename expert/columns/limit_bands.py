"""Numbers of many views against the limits that hold there, over their whole intervals."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import NOTHING, Flags, Floats, Ints, Numbers, Words
from expert.columns.plant_kinds import PlantKinds
from expert.inference.truth import TOO_CLOSE
from expert.knowledge.model import Limit
from expert.units.kinds import Kind

_TINY = 1e-9  # as in `inference/truth.py`
Signs = NDArray[np.int8]


class Bands:
    """The limits of the views of a batch. `plant` is the kind of plant of each view."""

    def __init__(self, plants: PlantKinds, plant: Ints) -> None:
        self._plants = plants
        self._plant = plant
        self._found: dict[str, Mapping[str, Signs]] = {}

    def in_words(self, quantity: str) -> bool:
        """Whether a word for a quantity stands in the place of a number."""
        return self._plants.rulebase.quantities[quantity].kind not in (Kind.CHOICE, Kind.TEXT)

    def limit_of(self, quantity: str, plant: Ints) -> Ints:
        """The number of the limit that holds for a quantity on kinds of plant, or NOTHING."""
        return np.append(self._plants.limits_of(quantity), NOTHING)[plant]

    def with_reasons(self, quantity: str) -> Iterator[tuple[Limit, Flags]]:
        """The limits of a quantity that are not judged by at times, and the views they hold in."""
        there = {int(number) for number in self._plants.limits_of(quantity)} - {NOTHING}
        limits = {n: self._plants.limits[n] for n in sorted(there)}
        if any(limit.cannot_judge_when for limit in limits.values()):
            here = self.limit_of(quantity, self._plant)
            for number, limit in limits.items():
                if limit.cannot_judge_when:
                    yield limit, here == number

    def truths(self, quantity: str, numbers: Numbers) -> Mapping[str, Signs]:
        """Whether the numbers of a column lie in each band of their limit, 0 where unknown."""
        if quantity not in self._found:
            limit = self.limit_of(quantity, self._plant[numbers.view])
            self._found[quantity] = self.bands(limit, numbers.value, numbers.plus_minus)
        return self._found[quantity]

    def bands(self, limit: Ints, value: Floats, plus_minus: Floats) -> Mapping[str, Signs]:
        """The same of any values, each with the number of its limit."""
        has = limit != NOTHING
        if not has.any():
            return {}
        tiny = _TINY * np.maximum(1.0, np.abs(value))
        low, high = value - plus_minus, value + plus_minus
        below = {
            name: _below(low, high, self._edge(name, limit), tiny) for name in ("low", "very_low")
        }
        above = {
            name: _below(-high, -low, -self._edge(name, limit), tiny)
            for name in ("high", "very_high")
        }
        normal = np.minimum(-below["low"], -above["high"])
        words = {
            "very low": below["very_low"], "low": below["low"], "normal": normal,
            "high": above["high"], "very high": above["very_high"],
        }  # fmt: skip
        certain = np.logical_or.reduce([each == 1 for each in words.values()])
        words[TOO_CLOSE] = np.where(certain, -1, 1).astype(np.int8)
        return {word: np.where(has, truth, 0).astype(np.int8) for word, truth in words.items()}

    def _edge(self, name: str, limit: Ints) -> Floats:
        return self._plants.edges(name)[limit]

    def ends(
        self, quantity: str, said: Words, words: Sequence[str]
    ) -> tuple[Floats, Floats]:  # fmt: skip
        """Between what numbers lie that are known only in words; NaN without a limit."""
        limit = self.limit_of(quantity, self._plant[said.view])
        low, high = self._edge("low", limit), self._edge("high", limit)
        low = np.where(np.isnan(low), -np.inf, low)
        high = np.where(np.isnan(high), np.inf, high)
        word = [words[number] for number in said.word]
        normal = np.array([each == "normal" for each in word], dtype=bool)
        lower = np.array([each.endswith("low") for each in word], dtype=bool)
        first = np.where(normal, low, np.where(lower, -np.inf, high))
        last = np.where(normal, high, np.where(lower, low, np.inf))
        none = limit == NOTHING
        return np.where(none, np.nan, first), np.where(none, np.nan, last)


def _below(low: Floats, high: Floats, edge: Floats, tiny: Floats) -> Signs:
    """Whether intervals lie below an edge; none lies below an edge that is not there."""
    under = high < edge - tiny
    over = ~(low < edge - tiny)  # also where there is no edge
    return np.where(under, 1, np.where(over, -1, 0)).astype(np.int8)
