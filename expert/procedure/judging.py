"""What judges the readings of a job, remembered for as long as the job is worked on."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Protocol

from expert.inference.evaluation_model import Evaluation, Reading, State
from expert.knowledge.conditions import Condition, HasSign, Over, parts

_KEPT = 256
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
        self._truth = lru_cache(maxsize=_KEPT_TRUTHS)(self._judge)

    def holds(
        self, condition: Condition, readings: Readings, found: Readings | None, subject: str
    ) -> bool | None:
        """A condition on readings and the site's values, as a member (or '') sees them."""
        if not any(isinstance(part, Over | HasSign) for part in parts(condition)):
            # what was read on others changes nothing, and must not make it be judged again
            readings = tuple(each for each in readings if each.subject in ("", subject))
            found = found and tuple(each for each in found if each.subject in ("", subject))
        return self._truth(condition, readings, found, subject)

    def states(
        self, readings: Readings, found: Readings | None, subject: str
    ) -> Callable[[str], str]:
        """What gives the word of a quantity's state: 'low', 'unknown'."""
        facts = self._facts(readings, found, subject)
        return lambda name: facts.state(name).word

    def _judge(
        self, condition: Condition, readings: Readings, found: Readings | None, subject: str
    ) -> bool | None:
        return self._facts(readings, found, subject).holds(condition)
