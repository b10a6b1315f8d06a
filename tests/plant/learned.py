"""How soon somebody could tell who has seen every fault on many plants of the model.

`python tests/plant/learned.py` counts on some plants how often each reading is low, normal or high
(or which word it says) with each fault, and then diagnoses others from the first ten readings, as
the guided score does: a cause is as likely as all that was read makes it, and read next is what is
expected to tell most. It knows no rule, only this model and the faults that are in it, so it is no
judge of the world; it tells how much of what the score lacks is hidden in what was read already.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path[:0] = [str(Path(__file__).parents[1])]

from expert.inference.truth import Facts
from expert.knowledge.load_rulebase import load_rulebase
from expert.places import shipped
from expert.plant.cases import Case, every_fault, make_cases
from plant.judge import BANDS, MOST_EXTRA, PlantJudge, accepted_for, flat
from plant.score import SEEDS

Array = NDArray[np.float64]
LEARNING = 771  # a seed that nothing is judged by
_UNSEEN = 2.0  # plants that answer as all others do, beside those that were seen (own choice)


@dataclass(frozen=True)
class PlantInWords:
    """A plant with a fault: what its readings say in words, and of which it has known what."""

    fault: str
    call: str
    says: Mapping[str, str]
    at_first: Mapping[str, str]  # what it says when only what is read first is known
    rests_on: Mapping[str, frozenset[str]]  # the readings under each
    readings: frozenset[str]
    first: frozenset[str]


def seen(judge: PlantJudge, seed: int, per_fault: int) -> Iterator[PlantInWords]:
    """Plants with a fault of middle or gross severity that some reading shows."""
    wanted = every_fault(per_fault, seed, BANDS[1][1], 1.0)
    for case in make_cases(seed, wanted):
        if case.visible:
            yield _seen(judge, case)


def _seen(judge: PlantJudge, case: Case) -> PlantInWords:
    quantities = judge.rulebase.quantities
    made = judge.readings(case.readings, case.altitude)
    facts, _ = judge.evaluator(case).facts(flat(made.values()))

    def under(name: str) -> frozenset[str]:
        derivation = quantities[name].derivation
        if derivation is None:
            return frozenset((name,)) & made.keys()
        return frozenset().union(*(under(each.quantity) for each in derivation.inputs.values()))

    def words(facts: Facts) -> dict[str, str]:
        return {name: facts.state(name).word for name in facts.known if not quantities[name].given}

    first_ten = judge.first_ten(case, made)
    at_first, _ = judge.evaluator(case).facts(flat(first_ten.values()))
    says = words(facts)
    return PlantInWords(
        case.faults[0], case.says or case.complaint, says, words(at_first),
        {name: under(name) for name in says}, frozenset(made), frozenset(first_ten),
    )  # fmt: skip


class LearnedFaults:
    """What each fault looks like, counted over plants."""

    def __init__(self, plants: Sequence[PlantInWords]) -> None:
        self.faults = sorted({each.fault for each in plants})
        self._row = {name: row for row, name in enumerate(self.faults)}
        self._calls = {call: self._share(plants, call) for call in {each.call for each in plants}}
        words: dict[str, Counter[str]] = {}
        for each in plants:
            for name, word in each.says.items():
                words.setdefault(name, Counter())[word] += 1
        self.words = {name: list(told) for name, told in words.items() if len(told) > 1}
        self._likely = {name: self._table(plants, name, words[name]) for name in self.words}

    def _share(self, plants: Sequence[PlantInWords], call: str) -> Array:
        counts = np.full(len(self.faults), 0.02)
        for each in plants:
            counts[self._row[each.fault]] += each.call == call
        return counts / counts.sum()

    def _table(self, plants: Sequence[PlantInWords], name: str, usual: Counter[str]) -> Array:
        column = {word: n for n, word in enumerate(self.words[name])}
        counts = np.tile([_UNSEEN * usual[word] / usual.total() for word in column],
                         (len(self.faults), 1))  # fmt: skip
        for each in plants:
            if name in each.says:
                counts[self._row[each.fault], column[each.says[name]]] += 1
        return np.asarray(counts / counts.sum(axis=1, keepdims=True))

    def readings_needed(self, plant: PlantInWords) -> int | None:
        """Readings after the first ten until a right cause is the likeliest; None for too many."""
        right = accepted_for([plant.fault]) | {plant.fault}
        shares = self._calls.get(plant.call, np.full(len(self.faults), 1 / len(self.faults)))
        known = {name for name in plant.says if name in self.words}
        have, told = set(plant.first), set[str]()
        for read in range(MOST_EXTRA + 1):
            for name in sorted(known - told):
                if plant.rests_on[name] <= have and plant.says[name] in self.words[name]:
                    told.add(name)
                    shares = shares * self._says(name, plant.says[name])
                    shares = shares / shares.sum()
            if self.faults[int(shares.argmax())] in right:
                return read
            worth = {
                each: max((self._expected(name, shares) for name in known - told
                           if plant.rests_on[name] - have == {each}), default=0.0)
                for each in sorted(plant.readings - have)
            }  # fmt: skip
            best = max(worth, key=lambda each: worth[each], default=None)
            if best is None or worth[best] <= 0:
                return None
            have.add(best)
        return None

    def _says(self, name: str, word: str) -> Array:
        return np.asarray(self._likely[name][:, self.words[name].index(word)])

    def _expected(self, name: str, shares: Array) -> float:
        """Bits by which the entropy of the faults is expected to fall."""
        both = shares[:, None] * self._likely[name]
        words = both.sum(axis=0)
        left = sum(w * _entropy(both[:, n] / w) for n, w in enumerate(words) if w > 1e-9)
        return _entropy(shares) - left


def _entropy(shares: Array) -> float:
    some = shares[shares > 0]
    return float(-(some * np.log2(some)).sum())


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the shares within so many further readings."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--learn", type=int, default=16, help="plants of each fault to learn from")
    parser.add_argument("--per-fault", type=int, default=1, help="of each fault and seed to judge")
    options = parser.parse_args(arguments)
    judge = PlantJudge(load_rulebase(shipped("rulebase")))
    learned = LearnedFaults(list(seen(judge, LEARNING, options.learn)))
    needed: dict[str, list[int | None]] = {"with a complaint": [], "on a routine visit": []}
    for seed in SEEDS["development"]:
        for plant in seen(judge, seed, options.per_fault):
            routine = plant.call in ("rack", "case", "defrost")
            row = needed["on a routine visit" if routine else "with a complaint"]
            row.append(learned.readings_needed(plant))
    print(f"{'':20} plants {'at once':>8} {'+3':>5} {'+6':>5}")
    for name, each in needed.items():
        within = [sum(n is not None and n <= most for n in each) for most in (0, 3, MOST_EXTRA)]
        print(f"{name:20} {len(each):6}", *(f"{hits / max(len(each), 1):6.0%}" for hits in within))
    return 0


if __name__ == "__main__":
    sys.exit(main())
