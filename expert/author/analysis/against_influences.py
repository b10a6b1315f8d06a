"""Rules held against the influences: does a cause bring the state that speaks for it?

A condition of a rule that is one of the ways in which a state of the plant is seen stands for that
state. What a cause brings is followed along the arrows, as if every arrow acted. Told are evidence
for a cause by a state that it moves the other way or does not move, and causes that no rule finds
by any state that they bring.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from expert.inference.influences import Follows, spread
from expert.knowledge.conditions import Condition, Is
from expert.knowledge.model import Cause, Rule, Rulebase


@dataclass(frozen=True)
class Disagreement:
    """A rule and a cause, or a cause alone, and in which state rules and influences part."""

    name: str
    what: str
    cause: Cause
    rule: Rule | None = None


def disagreements(rulebase: Rulebase) -> Iterator[Disagreement]:
    """Every rule, then every cause, that does not fit the influences."""
    shown = _shown(rulebase)
    brings = {c.id: _brings(c, rulebase) for c in rulebase.causes.values() if c.acts_on}
    matched: set[str] = set()
    stated: set[str] = set()
    for rule in rulebase.rules.values():
        seen = {state: sense for each in rule.when for state, sense in shown.get(str(each), ())}
        for name in rule.evidence_for:
            if name not in brings:
                continue
            cause, made = rulebase.causes[name], brings[name]
            fits = any(_fits(way.get(s), sense) for s, sense in seen.items() for way in made)
            matched |= {name} if fits else set()
            stated |= {name} if seen else set()
            yield from _parted(rule, cause, seen, made, rulebase)
    for name in sorted(stated - matched):
        cause = rulebase.causes[name]
        what = f"no rule finds '{name}' by a state of the plant that it brings"
        yield Disagreement(name, what, cause)


def _parted(
    rule: Rule,
    cause: Cause,
    seen: Mapping[str, int],
    made: Sequence[Mapping[str, Follows]],
    rulebase: Rulebase,
) -> Iterator[Disagreement]:
    for state, sense in seen.items():
        told = [way[state] for way in made if state in way]
        if not sense or any(each.sense in (0, sense) for each in told):
            continue
        said = rulebase.plant_states[state].in_words(sense)
        does = "moves it the other way" if told else "does not move it"
        what = f"{rule.id} is for '{cause.id}' with {said}, and it {does}"
        yield Disagreement(f"{rule.id}, {cause.id} / {state}", what, cause, rule)


def _brings(cause: Cause, rulebase: Rulebase) -> tuple[Mapping[str, Follows], ...]:
    """What follows from what a cause acts on; two ways where it may act either way."""
    arrows = [(arrow, True) for arrow in rulebase.influences.values()]
    ways = (1, -1) if 0 in cause.acts_on.values() else (1,)
    return tuple(
        spread({state: sense or way for state, sense in cause.acts_on.items()}, arrows)
        for way in ways
    )


def _fits(told: Follows | None, sense: int) -> bool:
    return told is not None and bool(sense) and told.sense == sense


def _shown(rulebase: Rulebase) -> Mapping[str, tuple[tuple[str, int], ...]]:
    """The states that a condition shows, by what it says; the bands of a quantity show one too."""
    found: dict[str, dict[str, int]] = {}
    for state in rulebase.plant_states.values():
        for way in state.seen_in:
            for conditions, sense in ((way.high, 1), (way.low, -1), (way.normal, 0)):
                for each in conditions:
                    for text in _said(each):
                        found.setdefault(text, {})[state.id] = sense
    return {text: tuple(states.items()) for text, states in found.items()}


def _said(condition: Condition) -> tuple[str, ...]:
    """A condition as a rule may say it; far beyond an edge is beyond it too."""
    if isinstance(condition, Is) and condition.word in ("low", "high") and not condition.negated:
        return str(condition), f"{condition.quantity} is very {condition.word}"
    return (str(condition),)
