"""Is a condition true, false or unknown (None)? Numbers are judged with their uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from math import inf

from expert.inference.course import course_truth
from expert.inference.evaluation_model import Known, State
from expert.inference.kleene import Truth, all_, at_least, not_
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
)
from expert.knowledge.model import Limit, Quantity
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass
from expert.units.measure import Measure

_TINY = 1e-9
TOO_CLOSE = "too close to call"
_WORDS = ("very low", "very high", "low", "high", "normal", TOO_CLOSE)  # the narrowest first


def limit_for(quantity: str, limits: Iterable[Limit], subject: Subject) -> Limit | None:
    """The limit that holds for a subject: the site's own, else the narrowest of the rulebase."""
    for limit in subject.limits:
        if limit.quantity == quantity:
            return limit
    fitting = [
        limit
        for limit in limits
        if limit.quantity == quantity and applies_to(limit.applies, subject)
    ]
    return max(fitting, key=lambda limit: len(limit.applies), default=None)


@dataclass
class Facts:
    """What is known of a subject, and the truth of conditions over it."""

    known: Mapping[str, Known]
    quantities: Mapping[str, Quantity]
    limits: Mapping[str, Limit]
    signs: dict[str, Truth] = field(default_factory=dict)
    stages: Mapping[str, Facts] = field(default_factory=dict)
    members: Mapping[str, tuple[Facts, ...]] = field(default_factory=dict)
    _settled: dict[int, tuple[Condition, Truth]] = field(default_factory=dict)
    _words: dict[str, Mapping[str, Truth]] = field(default_factory=dict)

    def holds(self, condition: Condition) -> Truth:
        """True, false or unknown."""
        # Everything but signs hangs on readings alone, and these do not change. The identity is
        # a quick key, and a safe one since the condition is kept beside its truth.
        kept = self._settled.get(id(condition))
        if kept is not None:
            return kept[1]
        if isinstance(condition, HasSign):
            truth = self.signs.get(condition.sign)
            return not_(truth) if condition.negated else truth
        if isinstance(condition, Group):
            return at_least(condition.at_least, tuple(map(self.holds, condition.members)))
        truth = self._judge(condition)
        self._settled[id(condition)] = (condition, truth)
        return truth

    def settled(self) -> Mapping[int, tuple[Condition, Truth]]:
        """What came out of conditions so far, by their identities."""
        return self._settled

    def take_over(self, settled: Mapping[int, tuple[Condition, Truth]]) -> None:
        """Other facts came to the same of some conditions: they are not judged again."""
        self._settled.update(settled)

    def _judge(self, condition: Is | Compare | Course | InStage | Over) -> Truth:
        if isinstance(condition, Is):
            truth = self._is(condition)
            return not_(truth) if condition.negated else truth
        if isinstance(condition, Compare):
            return self._compare(condition)
        if isinstance(condition, Course):
            return course_truth(condition, self.known)
        if isinstance(condition, InStage):
            there = self.stages.get(condition.stage)
            return all_(map(there.holds, condition.members)) if there else None
        return self._over(condition)

    def _over(self, condition: Over) -> Truth:
        """A count over subjects; one that was not measured is unknown, not well."""
        truths = tuple(
            all_(map(facts.holds, condition.members))
            for facts in self.members.get(condition.kind, ())
        )
        if not truths:
            return None
        if condition.count == "no":
            return not_(at_least(1, truths))
        wanted = {"every": len(truths), "any": 1, "most": len(truths) // 2 + 1}
        return at_least(wanted.get(condition.count, condition.at_least), truths)

    def blocked(self, quantity: str) -> Condition | None:
        """The reason known to be true not to judge a quantity against its limit, if any."""
        limit = self.limits.get(quantity)
        for condition in limit.cannot_judge_when if limit else ():
            if self.holds(condition) is True:
                return condition
        return None

    def state(self, quantity: str) -> State:
        """A quantity against its limit, in a word."""
        limit = self.limits.get(quantity)
        known = self.known.get(quantity)
        if known is None:
            return State(quantity, "unknown", limit)
        if isinstance(known.value, str):
            return State(quantity, known.value)
        if limit is None:
            return State(quantity, "unknown", None, "no limit is known for it here")
        if (reason := self.blocked(quantity)) is not None:
            return State(quantity, "cannot judge", limit, str(reason))
        words = self._words_of(quantity, known.value)
        return State(quantity, next(word for word in _WORDS if words[word]), limit)

    def _words_of(self, quantity: str, measure: Measure) -> Mapping[str, Truth]:
        """Which states of its limit a measure is in; none is known where it cannot be judged."""
        words = self._words.get(quantity)
        if words is None:
            limit = self.limits.get(quantity)
            judged = limit is not None and self.blocked(quantity) is None
            words = self._words[quantity] = bands(measure, limit) if judged and limit else {}
        return words

    def _is(self, condition: Is) -> Truth:
        known = self.known.get(condition.quantity)
        if condition.word == KNOWN:
            return known is not None
        if known is None:
            return None
        if isinstance(known.value, str):
            word = condition.word
            in_band = known.in_words and known.value == f"very {word}"
            return known.value == word or in_band
        return self._words_of(condition.quantity, known.value).get(condition.word)

    def _compare(self, condition: Compare) -> Truth:
        total, variance = 0.0, 0.0
        below, above = 0.0, 0.0  # how far words leave the sum open
        for term in condition.terms:
            if not term.quantity:
                total += term.factor * term.value
                continue
            known = self.known.get(term.quantity)
            if known is None:
                return None
            if isinstance(known.value, Measure):
                total += term.factor * known.value.value
                variance += (known.value.plus_minus or 0.0) ** 2
                continue
            ends = self._ends(known)
            if ends is None:
                return None
            low, high = sorted(term.factor * end for end in ends)
            below, above = below + low, above + high
        spread = variance**0.5
        return _sign(total + below - spread, total + above + spread, condition.operator)

    def _ends(self, known: Known) -> tuple[float, float] | None:
        """Between what a number lies that is known only as low, normal or high here."""
        limit = self.limits.get(known.quantity.id)
        if not known.in_words or limit is None or self.blocked(known.quantity.id) is not None:
            return None
        low = -inf if limit.low is None else limit.low
        high = inf if limit.high is None else limit.high
        word = str(known.value)
        if word == "normal":
            return low, high
        if word.endswith("low"):
            return -inf, low
        return high, inf


def _sign(low: float, high: float, operator: str) -> Truth:
    """Whether a sum that lies between two ends is above or below zero."""
    if operator in ("<", "<="):
        low, high, operator = -high, -low, operator.replace("<", ">")
    passes: Callable[[float], bool] = (
        (lambda x: x > _TINY) if operator == ">" else (lambda x: x >= -_TINY)
    )
    ends = {passes(low), passes(high)}
    return ends.pop() if len(ends) == 1 else None


def bands(measure: Measure, limit: Limit) -> dict[str, Truth]:
    """Whether a measure, over its whole interval, lies in each band of a limit, or in none.

    Edges count as inside normal; a band that has no edge is empty.
    """
    tiny = _TINY * max(1.0, abs(measure.value))
    low, high = measure.low, measure.high
    is_low = _below(low, high, limit.low, tiny)
    is_high = _below(-high, -low, None if limit.high is None else -limit.high, tiny)
    very_high = None if limit.very_high is None else -limit.very_high
    found = {
        "very low": _below(low, high, limit.very_low, tiny),
        "low": is_low,
        "normal": all_((not_(is_low), not_(is_high))),
        "high": is_high,
        "very high": _below(-high, -low, very_high, tiny),
    }
    found[TOO_CLOSE] = True not in found.values()
    return found


def _below(low: float, high: float, edge: float | None, tiny: float) -> Truth:
    """Whether an interval lies below an edge; the other side is asked with all signs turned."""
    if edge is None:
        return False
    if high < edge - tiny:
        return True
    return False if low >= edge - tiny else None
