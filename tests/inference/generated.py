"""Generated rulebases and readings, and an evaluator that is written out from scratch to judge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from hypothesis import strategies as st

from expert.inference.evaluation_model import Reading
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.conditions import Condition, Group, HasSign, Is
from expert.knowledge.model import Cause, Limit, Quantity, Rule, Rulebase, Sign
from expert.knowledge.pack_model import PackInfo
from expert.knowledge.site import Subject
from expert.knowledge.source import Source
from expert.units.kinds import Kind
from expert.units.measure import Measure

MEMORY = Source("from memory")
NUMBERS = ("n0", "n1", "n2", "n3")
CHOICES = ("c0", "c1", "c2")
WORDS = ("red", "blue", "green")
SIGNS = ("s0", "s1", "s2", "s3", "s4")
CAUSES = ("k0", "k1", "k2")
STATES = ("very low", "low", "normal", "high", "very high")
QUANTITIES = {
    name: Quantity(name, f"number {name}", "circuit", Kind.DURATION, MEMORY) for name in NUMBERS
} | {
    name: Quantity(
        name, f"choice {name}", "circuit", Kind.CHOICE, MEMORY, choices=dict.fromkeys(WORDS, "")
    )
    for name in CHOICES
}
LIMITS = tuple(
    Limit(f"{name}-limit", name, MEMORY, low=15.0, high=20.0, very_low=10.0, very_high=30.0)
    for name in NUMBERS[:-1]  # the last has no limit, so that nothing can be said of it
)
SCALE = Certainty(
    {"weak": 0.3, "moderate": 0.5, "strong": 0.75},
    ((0.5, "likely"), (0.0, "possible")),
    0.2,
    MEMORY,
)
SUBJECT = Subject("x", "x", "circuit", "", {})


@dataclass(frozen=True)
class GeneratedRules:
    """A rulebase and one reading each of some of its quantities."""

    rulebase: Rulebase
    readings: tuple[Reading, ...]


def elementary(draw: Random, signs: tuple[str, ...]) -> Condition:
    """A condition on a number, a choice, or one of some signs."""
    negated = draw.random() < 0.3
    kind = draw.choice("nnncckssss" if signs else "nnncck")
    if kind == "s":
        return HasSign(draw.choice(signs), negated)
    if kind == "k":
        return Is(draw.choice(NUMBERS + CHOICES), "known", negated)
    if kind == "c":
        return Is(draw.choice(CHOICES), draw.choice(WORDS), negated)
    return Is(draw.choice(NUMBERS), draw.choice(STATES), negated)


def condition(draw: Random, signs: tuple[str, ...], depth: int = 2) -> Condition:
    """A condition, sometimes a group, with groups inside groups."""
    if not depth or draw.random() < 0.6:
        return elementary(draw, signs)
    members = tuple(condition(draw, signs, depth - 1) for _ in range(draw.randint(1, 3)))
    return Group(draw.randint(1, len(members)), members)


def rulebase(draw: Random, size: int) -> Rulebase:
    """Rules of which each looks only at signs that come before those it concludes."""
    rules = {}
    for number in range(size):
        top = draw.randint(0, len(SIGNS))
        name = f"rule-{number}"
        rules[name] = Rule(
            name,
            tuple(condition(draw, SIGNS[:top]) for _ in range(draw.randint(1, 3))),
            f"because of {name}",
            MEMORY,
            unless=tuple(condition(draw, SIGNS[:top]) for _ in range(draw.choice([0, 0, 1, 2]))),
            evidence_for=_evidence(draw, CAUSES[:2]),
            evidence_against=_evidence(draw, CAUSES[2:]),
            concludes=SIGNS[top : top + 1],
        )
    return Rulebase(
        PackInfo("generated", "0"),
        QUANTITIES,
        LIMITS,
        {name: Sign(name, f"it is {name}") for name in SIGNS},
        {name: _cause(name) for name in CAUSES},
        rules,
        {},
        SCALE,
        {},
        {},
    )


def _evidence(draw: Random, causes: tuple[str, ...]) -> dict[str, str]:
    strengths = sorted(SCALE.strengths)
    return {cause: draw.choice(strengths) for cause in causes if draw.random() < 0.6}


def _cause(name: str) -> Cause:
    leads = {"k0": ("k1",), "k1": ("k0", "k2")}
    return Cause(
        name, name, "x", "circuit", "x", (), (), "food", MEMORY, leads_to=leads.get(name, ())
    )


def case(seed: int, size: int, read: int) -> GeneratedRules:
    """Rules and readings; some quantities are not read, and numbers have a spread."""
    draw = Random(seed)
    readings = []
    for name in draw.sample(NUMBERS + CHOICES, read):
        value: Measure | str
        if name in CHOICES:
            value = draw.choice(WORDS)
        else:
            number = draw.choice([4.0, 9.0, 10.0, 12.0, 15.0, 17.5, 20.0, 25.0, 30.0, 40.0])
            value = Measure(Kind.DURATION, number, draw.choice([None, 0.0, 1.0, 3.0]))
        readings.append(Reading(name, value, str(value)))
    return GeneratedRules(rulebase(draw, size), tuple(readings))


CASES = st.builds(
    case, st.integers(0, 2**32), st.integers(1, 12), st.integers(0, len(NUMBERS + CHOICES))
)


class Naive:
    """What fires, by asking each rule and each sign over and over, and nothing kept."""

    def __init__(self, case: GeneratedRules):
        self.rules: Mapping[str, Rule] = case.rulebase.rules
        self.limits = {limit.quantity: limit for limit in case.rulebase.limits}
        self.values = {reading.quantity: reading.value for reading in case.readings}

    def fired(self) -> tuple[str, ...]:
        """Ids of the rules that fire, in order."""
        return tuple(name for name, rule in self.rules.items() if self.rule(rule) == 1)

    def rule(self, rule: Rule) -> float:
        """1 true, 0 false, 0.5 unknown: a third way of writing three values."""
        if any(self.truth(each) == 1 for each in rule.unless):
            return 0
        return min(self.truth(each) for each in rule.when)

    def sign(self, sign: str) -> float:
        """A sign is as true as the truest rule that concludes it."""
        return max((self.rule(r) for r in self.rules.values() if sign in r.concludes), default=0)

    def truth(self, condition: Condition) -> float:
        """The truth of a condition as a number."""
        if isinstance(condition, Group):
            ranked = sorted((self.truth(each) for each in condition.members), reverse=True)
            return ranked[condition.at_least - 1]
        assert isinstance(condition, HasSign | Is)
        told = self.sign(condition.sign) if isinstance(condition, HasSign) else self._is(condition)
        return 1 - told if condition.negated else told

    def _is(self, condition: Is) -> float:
        value = self.values.get(condition.quantity)
        if condition.word == "known":
            return float(value is not None)
        if value is None:
            return 0.5
        if isinstance(value, str):
            return float(value == condition.word)
        limit = self.limits.get(condition.quantity)
        if limit is None:
            return 0.5
        spread = value.plus_minus or 0.0
        ends = {self._in(limit, x, condition.word) for x in self._points(value.value, spread)}
        return 0.5 if len(ends) == 2 else float(ends.pop())

    def _points(self, value: float, spread: float) -> list[float]:
        """Points that tell a band apart: the ends, and every edge's neighbourhood inside."""
        edges = [e + d for e in (10.0, 15.0, 20.0, 30.0) for d in (-1e-4, 0.0, 1e-4)]
        inside = [edge for edge in edges if abs(edge - value) <= spread]
        return [value - spread, value + spread, *inside]

    def _in(self, limit: Limit, x: float, word: str) -> bool:
        low, high, very_low, very_high = limit.low, limit.high, limit.very_low, limit.very_high
        assert low is not None
        assert high is not None
        assert very_low is not None
        assert very_high is not None
        return {
            "very low": x < very_low,
            "low": x < low,
            "normal": low <= x <= high,
            "high": x > high,
            "very high": x > very_high,
        }[word]
