"""Small wrong changes of limits: an edge moved, a reason not to judge dropped or turned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from expert.author.mutation.changed_conditions import changes
from expert.author.mutation.step_size import edge_step
from expert.errors import Place
from expert.knowledge.conditions import Is, everywhere
from expert.knowledge.model import Limit, Rulebase
from expert.units.measure import format_value

EDGES = ("very_low", "low", "high", "very_high")
_EDGES_OF = {
    "very low": ("very_low",), "low": ("low",), "normal": ("low", "high"), "high": ("high",),
    "very high": ("very_high",), "too close to call": EDGES,
}  # fmt: skip


def edges_looked_at(rulebase: Rulebase) -> dict[str, set[str]]:
    """For each quantity the edges of its limits that some rule or gate looks at."""
    found: dict[str, set[str]] = {}
    holders = [(*rule.when, *rule.unless) for rule in rulebase.rules.values()]
    holders += [gate.needs for gate in rulebase.gates.values()]
    for conditions in holders:
        for part in (part for condition in conditions for part in everywhere(condition)):
            if isinstance(part, Is) and not rulebase.quantities[part.quantity].is_choice:
                found.setdefault(part.quantity, set()).update(_EDGES_OF.get(part.word, ()))
    return found


def limit_changes(rulebase: Rulebase) -> Iterator[tuple[Limit, str, str, Place]]:
    """Each changed limit, the kind of change, it in words, and its place.

    Only edges that some rule or gate looks at are moved: no test can notice another.
    """
    looked_at = edges_looked_at(rulebase)
    for limit in rulebase.limits:
        edges = [
            edge
            for edge in EDGES
            if edge in looked_at.get(limit.quantity, ()) and getattr(limit, edge) is not None
        ]
        for edge in edges:
            yield from _moved(limit, edge, rulebase)
        if edges:
            yield from _preconditions(limit, rulebase)


def _moved(limit: Limit, edge: str, rulebase: Rulebase) -> Iterator[tuple[Limit, str, str, Place]]:
    quantity = rulebase.quantities[limit.quantity]
    step = edge_step(limit, edge, quantity)
    value = getattr(limit, edge)
    for target in (value - step, value + step):
        kept = _between(limit, edge, target)
        if kept == value:
            continue
        before, after = (format_value(quantity.kind, each) for each in (value, kept))
        what = f"{edge.replace('_', ' ')} edge at {after}, not {before}"
        moved: dict[str, Any] = {edge: kept}
        yield replace(limit, **moved), "edge moved", what, limit.place


def _between(limit: Limit, edge: str, target: float) -> float:
    """The target, or half way to the next edge where it would pass that."""
    value = getattr(limit, edge)
    others = [getattr(limit, name) for name in EDGES if name != edge]
    for other in (each for each in others if each is not None):
        if value <= other <= target or target <= other <= value:
            target = (value + other) / 2
    return float(target)


def _preconditions(limit: Limit, rulebase: Rulebase) -> Iterator[tuple[Limit, str, str, Place]]:
    for number, condition in enumerate(limit.cannot_judge_when):
        for change in changes(condition, rulebase):
            put = () if change.condition is None else (change.condition,)
            held = (
                *limit.cannot_judge_when[:number], *put, *limit.cannot_judge_when[number + 1 :],
            )  # fmt: skip
            what = f"cannot_judge_when: {change.what}"
            place = change.place if change.place.path else limit.place
            yield replace(limit, cannot_judge_when=held), "reason not to judge", what, place
