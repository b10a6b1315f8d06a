"""What judges the readings of a job, remembered for as long as the job is worked on."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import count
from typing import Protocol

from expert.inference.evaluation_model import Evaluation, Reading, State
from expert.knowledge.conditions import Condition, HasSign, Over, parts

_KEPT = 256
_KEPT_READINGS = 4_000  # tuples of readings, each a little longer than the one before
_KEPT_TRUTHS = 20_000  # conditions over all members of a large rack, many times over

Readings = tuple[Reading, ...]
Evaluate = Callable[[Readings, Readings | None, str], Evaluation]


class Judging(Protocol):
    """What judges over some readings and the site's values."""

    def state(self, quantity: str) -> State:
        """A quantity against its limit."""
        ...

    def holds(self, condition: Condition) -> bool | None:
        """True, false or unknown."""
        ...


JudgeOver = Callable[[Readings, Readings | None, str], Judging]


class Judgement:
    """Evaluations, states and truths over readings, each worked out once."""

    def __init__(self, evaluate: Evaluate, facts: JudgeOver) -> None:
        self.evaluate = lru_cache(maxsize=_KEPT)(evaluate)
        self._facts = lru_cache(maxsize=_KEPT)(facts)
        self._numbers = _Numbering()
        self._truths: dict[tuple[int, int, int, str], tuple[Condition, bool | None]] = {}

    def holds(
        self, condition: Condition, readings: Readings, found: Readings | None, subject: str
    ) -> bool | None:
        """A condition on readings and the site's values, as a member (or '') sees them."""
        if not any(isinstance(part, Over | HasSign) for part in parts(condition)):
            # what was read on others changes nothing, and must not make it be judged again
            readings = self._numbers.seen_by(subject, readings)
            found = found and self._numbers.seen_by(subject, found)
        number = self._numbers.of(readings)
        before = -1 if found is None else self._numbers.of(found)
        key = (id(condition), number, before, subject)  # the condition is held beside its truth
        if key not in self._truths:
            if len(self._truths) >= _KEPT_TRUTHS:
                self._truths.clear()
            self._truths[key] = condition, self._facts(readings, found, subject).holds(condition)
        return self._truths[key][1]

    def states(
        self, readings: Readings, found: Readings | None, subject: str
    ) -> Callable[[str], str]:
        """What gives the word of a quantity's state: 'low', 'unknown'."""
        facts = self._facts(readings, found, subject)
        return lambda name: facts.state(name).word


class _Numbering:
    """A number for equal readings, so that they are compared once and not at every condition."""

    def __init__(self) -> None:
        self._next = count()
        self._by_value: dict[Readings, int] = {}
        self._by_ids: dict[tuple[int, ...], int] = {}  # the same readings in another tuple
        self._by_object: dict[int, tuple[Readings, int]] = {}  # held, so no other gets its id
        self._seen: dict[tuple[str, int], tuple[Readings, Readings]] = {}

    def of(self, readings: Readings) -> int:
        """The number of some readings."""
        kept = self._by_object.get(id(readings))
        if kept is None:
            self._forget()
            ids = tuple(map(id, readings))
            number = self._by_ids.get(ids)
            if number is None:
                number = self._by_value.get(readings)
            if number is None:
                number = self._by_value[readings] = next(self._next)
            self._by_ids[ids] = number
            kept = self._by_object[id(readings)] = readings, number
        return kept[1]

    def seen_by(self, subject: str, readings: Readings) -> Readings:
        """The readings on a member and on what it belongs to."""
        kept = self._seen.get((subject, id(readings)))
        if kept is None:
            self._forget()
            own = tuple(each for each in readings if each.subject in ("", subject))
            own = own if len(own) < len(readings) else readings
            kept = self._seen[subject, id(readings)] = readings, own
        return kept[1]

    def _forget(self) -> None:
        if len(self._by_value) + len(self._by_object) + len(self._seen) >= _KEPT_READINGS:
            self._by_value.clear()
            self._by_ids.clear()
            self._by_object.clear()
            self._seen.clear()
