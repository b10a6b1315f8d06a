"""The opposite of a condition: known to be so exactly where that is known not to be so."""

from __future__ import annotations

from dataclasses import replace

from expert.knowledge.conditions import Compare, Condition, Group, HasSign, Is

_OPPOSITE = {">": "<=", ">=": "<", "<": ">=", "<=": ">"}


def negated(condition: Condition) -> Condition | None:
    """The opposite, None where there is no plain form of it (courses, stages, other subjects)."""
    if isinstance(condition, Is | HasSign):
        return replace(condition, negated=not condition.negated)
    if isinstance(condition, Compare):
        operator = _OPPOSITE[condition.operator]
        text = condition.text.replace(f" {condition.operator} ", f" {operator} ", 1)
        return replace(condition, operator=operator, text=text)
    if isinstance(condition, Group) and condition.at_least in (1, len(condition.members)):
        members = [negated(each) for each in condition.members]
        kept = tuple(each for each in members if each is not None)
        at_least = len(kept) if condition.at_least == 1 else 1
        return Group(at_least, kept, condition.place) if len(kept) == len(members) else None
    return None


def as_yaml(condition: Condition) -> str:
    """A condition as it is written in a list in YAML."""
    if not isinstance(condition, Group):
        return str(condition)
    word = "any" if condition.at_least == 1 else "all"
    return f"{{{word}: [{', '.join(map(as_yaml, condition.members))}]}}"
