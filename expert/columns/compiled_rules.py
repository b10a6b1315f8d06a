"""A rulebase made ready for columns: what each cause rests on, and keys that hold all of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from graphlib import TopologicalSorter
from math import prod
from typing import NamedTuple

import numpy as np

from expert.errors import RackwalkError
from expert.inference.certainty import combined
from expert.inference.findings import IN_WORDS, beside_rules
from expert.inference.influences import Cover, Reach
from expert.knowledge.certainty_scale import Certainty
from expert.knowledge.conditions import Condition, Group, InStage, Over, quantities_in
from expert.knowledge.influence_model import Influence
from expert.knowledge.model import Cause, Rule, Rulebase
from expert.knowledge.strata import rules_by_sign, waiting_for

_MOST = 2**62  # what a key may come to


class TooLarge(RackwalkError):
    """A rulebase that does not fit into the keys of the columns; the engine takes it."""


@dataclass(frozen=True)
class Evidence:
    """What a rule says of a cause: 1 for or -1 against, with which strength."""

    rule: Rule
    sign: int
    strength: str


class Grade(NamedTuple):
    """A certainty (0 to 1) as it is told, and its words."""

    certainty: float
    words: str


@dataclass(frozen=True)
class CauseRules:
    """A cause with all that speaks for or against it.

    A key holds how many rules fired of each sign and strength (full, or less for a number known
    only in words), how many states the cause explains, leaves, contradicts and may contradict, and
    whether it was seen; what it comes to is worked out once a key.
    """

    number: int
    cause: Cause
    evidence: tuple[Evidence, ...]
    weights: tuple[float, ...]
    slot: Mapping[tuple[int, str], int]
    radices: tuple[int, ...]

    @cached_property
    def places(self) -> tuple[int, ...]:
        """By what each count is multiplied in a key."""
        return tuple(prod(self.radices[:n]) for n in range(len(self.radices)))

    def grade(self, key: int, scale: Certainty) -> Grade:
        """What a key comes to."""
        counts = []
        for radix in self.radices:
            key, count = divmod(key, radix)
            counts.append(count)
        *fired, explains, leaves, against, doubtful, seen = counts
        factors = [
            weight for weight, count in zip(self.weights, fired, strict=True) for _ in range(count)
        ]
        cover = None
        if self.cause.acts_on:
            names = [(" ",) * each for each in (explains, leaves, against, doubtful)]
            cover = Cover(names[0], names[1], names[2], names[3])
        certainty = combined(factors + beside_rules(cover, bool(seen)))
        return Grade(round(certainty, 4), scale.say(certainty))


class CompiledRules:
    """A rulebase for the column judge. Raises TooLarge where its keys do not hold it."""

    def __init__(self, rulebase: Rulebase) -> None:
        self.rulebase = rulebase
        self.reach = Reach(rulebase)
        self.concluding = rules_by_sign(rulebase.rules.values())
        order = TopologicalSorter(waiting_for(rulebase.rules.values())).static_order()
        self.in_order = tuple(rulebase.rules[each] for each in order)
        self._reached: dict[int, tuple[int, ...]] = {}
        self.causes = tuple(self._causes())
        for each in self.causes:
            self.reached(each)
        self.names = {id(each): str(each) for each in self._conditions()}
        self.rests_on = {
            rule.id: frozenset(name for each in rule.when for name in quantities_in(each))
            for rule in rulebase.rules.values()
        }
        actions = (action for each in rulebase.causes.values() for action in _actions(each))
        gated = {gate.action for gate in rulebase.gates.values()}
        self.actions = tuple(each for each in dict.fromkeys(actions) if each in gated)
        if len(self.actions) > 62:
            raise TooLarge("There are more gated actions than a key holds.")
        self.action_masks = np.array(
            [
                sum(1 << n for n, action in enumerate(self.actions) if action in _actions(each))
                for each in rulebase.causes.values()
            ],
            dtype=np.int64,
        )

    @cached_property
    def conditional(self) -> tuple[tuple[int, Influence], ...]:
        """The arrows that act only at times, each with its place among all arrows."""
        return tuple((n, each) for n, each in enumerate(self.reach.arrows) if each.when)

    def reached(self, cause: CauseRules) -> tuple[int, ...]:
        """Which of the conditional arrows bear on what follows from a cause."""
        if cause.number not in self._reached:
            states = reached_by(cause.cause, self.reach.arrows)
            self._reached[cause.number] = tuple(
                number
                for number, (_, arrow) in enumerate(self.conditional)
                if arrow.source_state in states
            )
        if len(self._reached[cause.number]) > 39:
            raise TooLarge(f"Too many arrows that act at times follow from '{cause.cause.id}'.")
        return self._reached[cause.number]

    def _causes(self) -> Iterator[CauseRules]:
        scale = self.rulebase.certainty.strengths
        evidence: dict[str, list[Evidence]] = {}
        for rule in self.rulebase.rules.values():
            for sign, said in ((1, rule.evidence_for), (-1, rule.evidence_against)):
                for name, strength in said.items():
                    evidence.setdefault(name, []).append(Evidence(rule, sign, strength))
        states = len(self.rulebase.plant_states) + 1
        for number, cause in enumerate(self.rulebase.causes.values()):
            own = tuple(evidence.get(cause.id, ()))
            slots = list(dict.fromkeys((each.sign, each.strength) for each in own))
            counts = [sum((e.sign, e.strength) == slot for e in own) + 1 for slot in slots]
            full = [sign * scale[strength] for sign, strength in slots]
            less = [sign * (IN_WORDS * scale[strength]) for sign, strength in slots]
            radices = (*counts, *counts, states, states, states, states, 2)
            if prod(radices) > _MOST:
                raise TooLarge(f"Too many rules speak of '{cause.id}' for a key.")
            slot = {each: place for place, each in enumerate(slots)}
            yield CauseRules(number, cause, own, (*full, *less), slot, radices)

    def _conditions(self) -> Iterator[Condition]:
        rules = self.rulebase
        yield from _within(c for r in rules.rules.values() for c in (*r.when, *r.unless))
        yield from _within(c for limit in rules.limits for c in limit.cannot_judge_when)
        yield from _within(c for gate in rules.gates.values() for c in gate.needs)
        yield from _within(c for arrow in rules.influences.values() for c in arrow.when)
        yield from _within(c for cause in rules.causes.values() for c in cause.can_be_when)
        for state in rules.plant_states.values():
            for way in state.seen_in:
                yield from _within((*way.high, *way.low, *way.normal))


def _actions(cause: Cause) -> tuple[str, ...]:
    return tuple(remedy.action for remedy in cause.remedy)


def _within(conditions: Iterable[Condition]) -> Iterator[Condition]:
    for condition in conditions:
        yield condition
        if isinstance(condition, Group | InStage | Over):
            yield from _within(condition.members)


def reached_by(cause: Cause, arrows: Sequence[Influence]) -> frozenset[str]:
    """Every state that could follow from a cause, whichever arrows act."""
    reached = set(cause.acts_on)
    waiting = list(reached)
    while waiting:
        state = waiting.pop()
        for arrow in arrows:
            if arrow.source_state == state and arrow.target not in reached:
                reached.add(arrow.target)
                waiting.append(arrow.target)
    return frozenset(reached)
