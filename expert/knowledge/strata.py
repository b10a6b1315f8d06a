"""The order in which rules can be evaluated, so that 'not a sign' is asked only when settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from expert.knowledge.model import Rule


def rules_by_sign(rules: Iterable[Rule]) -> dict[str, list[Rule]]:
    """The rules that conclude each sign, in the order given."""
    concluding: dict[str, list[Rule]] = {}
    for rule in rules:
        for sign in rule.concludes:
            concluding.setdefault(sign, []).append(rule)
    return concluding


def waiting_for(rules: Iterable[Rule]) -> dict[str, tuple[str, ...]]:
    """The rules each rule waits for, in the order of the files so that messages are stable."""
    rules = tuple(rules)
    concluding = rules_by_sign(rules)
    return {
        rule.id: tuple(other.id for sign in rule.needed_signs for other in concluding.get(sign, ()))
        for rule in rules
    }


def sign_cycle(rules: Iterable[Rule]) -> tuple[str, ...]:
    """Ids of rules that wait for one another in a circle, or nothing."""
    try:
        TopologicalSorter(waiting_for(rules)).prepare()
    except CycleError as error:
        return tuple(dict.fromkeys(error.args[1]))
    return ()


def strata(rules: Mapping[str, Rule]) -> dict[str, int]:
    """Stratum of each rule: one above every rule that settles a sign whose absence it needs.

    The rules must be free of cycles (see `sign_cycle`).
    """
    concluding = rules_by_sign(rules.values())
    level: dict[str, int] = {}
    for rule_id in TopologicalSorter(waiting_for(rules.values())).static_order():
        level[rule_id] = max(
            (
                level[other.id] + int(absent)
                for sign, absent in rules[rule_id].needed_signs.items()
                for other in concluding.get(sign, ())
            ),
            default=0,
        )
    return level
