"""Causes that cannot be told apart: as sure as one another, and nothing left to read here tells.

What would tell two causes apart is a rule that speaks of one of them and not alike of the other and
still waits for a reading, or a state of the plant that they move differently and that is not known.
Where none of these readings can be had here, it is said so, and what would tell.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence

from expert.inference.evaluation_model import Finding, Hidden
from expert.inference.influences import Influences
from expert.inference.waiting import Waiting
from expert.knowledge.model import Cause, Rule

AS_SURE = 0.05  # a cause so much less certain than the first is as good as it (own choice)
_NAMED = 3  # of the readings that would tell, so many are named


def find_ties(
    findings: Sequence[Finding],
    rules: Iterable[Rule],
    influences: Influences,
    foreign: Collection[str],
    later: Collection[str],
) -> tuple[Hidden, ...]:
    """What of the leading cause and those as sure as it no reading can tell apart here.

    `foreign` are the readings that this plant does not have, `later` those that cannot be had now.
    """
    found = [each for each in findings if not each.cause.symptom]
    near = [each for each in found[1:] if each.certainty >= found[0].certainty - AS_SURE]
    if not near:
        return ()
    pairs = _Pairs(tuple(rules), influences, foreign, later)
    ties = (pairs.tie(found[0].cause, each.cause) for each in near)
    return tuple(tie for tie in ties if tie is not None)


class _Pairs:
    """Tells of two causes what would tell them apart."""

    def __init__(
        self,
        rules: tuple[Rule, ...],
        influences: Influences,
        foreign: Collection[str],
        later: Collection[str],
    ) -> None:
        self.influences = influences
        self.rulebase = influences.rulebase
        self.foreign = foreign
        self.later = later
        self.waiting = Waiting(rules, influences.facts, self.rulebase.quantities)

    def tie(self, one: Cause, other: Cause) -> Hidden | None:
        """What cannot be told of two causes; None where a reading that can be had tells."""
        telling = dict.fromkeys((*self._by_rules(one, other), *self._by_states(one, other)))
        fitting = [name for name in telling if self._fits(name)]
        if set(fitting) - set(self.later):
            return None
        return Hidden(
            f"whether it is '{one.title}' or '{other.title}'",
            "Both fit all that was read, and nothing that can be read here now would tell.",
            tuple(self.rulebase.quantities[name] for name in fitting[:_NAMED]),
            () if fitting else (*one.confirm[:1], *other.confirm[:1]),
            (one.id, other.id),
        )

    def _fits(self, name: str) -> bool:
        """Whether this plant has the reading at all."""
        asked_when, holds = self.rulebase.quantities[name].asked_when, self.influences.facts.holds
        return name not in self.foreign and all(holds(each) is not False for each in asked_when)

    def _by_rules(self, one: Cause, other: Cause) -> Iterator[str]:
        for rule in self.waiting.rules:
            alike = all(
                evidence.get(one.id) == evidence.get(other.id)
                for evidence in (rule.evidence_for, rule.evidence_against)
            )
            if not alike:
                yield from self.waiting.readings(rule)

    def _by_states(self, one: Cause, other: Cause) -> Iterator[str]:
        ways, others = (self.influences.ways(each)[0] for each in (one, other))
        for state in self.rulebase.plant_states.values():
            here, there = (made.get(state.id) for made in (ways, others))
            if state.id in self.influences.seen or here == there:
                continue
            if (here.sense if here else 0) == (there.sense if there else 0):
                continue
            for way in state.seen_in:
                for condition in (*way.high, *way.normal, *way.low):
                    yield from self.waiting.under(condition)
