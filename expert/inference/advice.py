"""What may be advised: an action that can do harm only when its gate is open."""

from __future__ import annotations

from expert.inference.sentences import Speaker
from expert.inference.truth import Facts
from expert.knowledge.model import Cause, Gate


def advise(cause: Cause, facts: Facts, speaker: Speaker) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What to do about a cause, and the actions that are held back.

    A gate is open only when every one of its conditions is known to hold; what is unknown or
    does not hold is named, since it is what to look at first.
    """
    gates = speaker.rulebase.gates.values()
    said: list[str] = []
    held_back: list[str] = []
    for remedy in cause.remedy:
        shut = [gate for gate in gates if gate.action == remedy.action and _shut(gate, facts)]
        if not shut:
            said.append(remedy.text)
            continue
        held_back.append(remedy.action)
        said += [_first(gate, facts, speaker) for gate in shut]
    return tuple(dict.fromkeys(said)), tuple(dict.fromkeys(held_back))


def _shut(gate: Gate, facts: Facts) -> bool:
    return gate.never or not all(facts.holds(condition) is True for condition in gate.needs)


def _first(gate: Gate, facts: Facts, speaker: Speaker) -> str:
    lacking = [
        speaker.condition(condition)
        for condition in gate.needs
        if facts.holds(condition) is not True
    ]
    return f"{gate.first} Not yet shown: {'; '.join(lacking)}." if lacking else gate.first
