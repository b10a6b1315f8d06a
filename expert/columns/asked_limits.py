"""Which limits the plan of a job asked, with which values and what came of it.

What a job is judged by are the readings of the steps that apply, and that hangs on conditions of
its checklist. Under other limits the same steps apply as long as every question that the plan asked
of a limit has the same answer; so these few questions are kept, and the plan is not made again.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, Known
from expert.inference.kleene import Truth
from expert.inference.truth import Facts
from expert.knowledge.conditions import HasSign, Over, everywhere
from expert.procedure.checklist import Checklist
from expert.procedure.history import History
from expert.procedure.judging import Readings
from expert.procedure.runner import Runner
from expert.units.measure import Measure

NO_LIMIT, NOT_JUDGED = -1, -2
ASKED = ("very low", "low", "high", "very high")  # normal and too close to call follow from these


@dataclass(frozen=True)
class AskedLimit:
    """A value [SI] of a quantity on a subject that was held against its limit, and the answer.

    `answer` is the truth of each band as a number (`answer_of`), NO_LIMIT where none holds there,
    NOT_JUDGED where something kept it from being judged.
    """

    subject: str
    quantity: str
    value: float
    plus_minus: float
    answer: int


@dataclass
class LimitsAsked:
    """What was asked while a plan was made; `beside` says that it hung on more than is kept."""

    limits: dict[AskedLimit, None] = field(default_factory=dict)
    beside: bool = False


def answer_of(words: Mapping[str, Truth]) -> int:
    """The truths of the bands as one number."""
    number = 0
    for word in ASKED:
        truth = words[word]
        number = 3 * number + (1 if truth is None else 2 * truth)
    return number


@dataclass
class _Listening(Facts):
    """Facts of a subject that note what is asked of limits."""

    asked: LimitsAsked = field(default_factory=LimitsAsked)
    subject: str = ""

    def _words_of(self, quantity: str, measure: Measure) -> Mapping[str, Truth]:
        fresh = quantity not in self._words
        words = super()._words_of(quantity, measure)
        if fresh:
            spread = measure.plus_minus or 0.0
            answer = NO_LIMIT if quantity not in self.limits else NOT_JUDGED
            answer = answer_of(words) if words else answer
            one = AskedLimit(self.subject, quantity, measure.value, spread, answer)
            self.asked.limits[one] = None
        return words

    def _ends(self, known: Known) -> tuple[float, float] | None:
        self.asked.beside = True  # the edges themselves count where a value is known in words
        return super()._ends(known)


def listening_runner(
    checklist: Checklist, evaluator: Evaluator, history: History
) -> tuple[Runner, LimitsAsked]:
    """A runner of a recorded job, for its plan alone; and what that plan will have asked."""
    inside = (part for each in checklist.conditions for part in everywhere(each))
    asked = LimitsAsked(beside=any(isinstance(part, HasSign | Over) for part in inside))

    def evaluate(readings: Readings, found: Readings | None, subject: str) -> Evaluation:
        asked.beside = True  # a search that goes on hangs on all rules
        return evaluator.member(subject).evaluate(readings, found)

    def listening(facts: Facts, subject: str) -> _Listening:
        return _Listening(facts.known, facts.quantities, facts.limits, asked=asked, subject=subject)

    def facts(readings: Readings, found: Readings | None, subject: str) -> Facts:
        judge_of = evaluator.member(subject)
        known, _ = judge_of.facts(readings, found)
        heard = listening(known, judge_of.subject.id)
        heard.stages = {
            stage: heard if each is known else listening(each, heard.subject)
            for stage, each in known.stages.items()
        }
        return heard

    return Runner(
        checklist, evaluator.rulebase, evaluator.subject, evaluate, facts,
        members=evaluator.members, history=history,
    ), asked  # fmt: skip
