"""The edge beside which the figures of a proposed test lie, as its proof names it."""

from __future__ import annotations

from expert.author.mutation.changed_limits import EDGES
from expert.author.mutation.mutants import Mutant
from expert.knowledge.conditions import Condition, everywhere
from expert.knowledge.model import Limit, Rule, Rulebase


def edge_named(mutant: Mutant, rulebase: Rulebase) -> str:
    """'receiver-level low' or the condition, where the mutant moves one; else nothing."""
    if mutant.limit is not None:
        old = next(each for each in rulebase.limits if each.id == mutant.limit.id)
        return _of_limit(old, mutant.limit)
    if mutant.rule is not None and mutant.kind == "number moved":
        return _lost(_conditions(rulebase.rules[mutant.rule.id]), _conditions(mutant.rule))
    return ""


def _of_limit(old: Limit, new: Limit) -> str:
    for edge in EDGES:
        if getattr(old, edge) != getattr(new, edge):
            return f"{old.id} {edge.replace('_', ' ')}"
    lost = _lost(old.cannot_judge_when, new.cannot_judge_when)
    return f"{old.id} not judged when {lost}" if lost else ""


def _conditions(rule: Rule) -> tuple[Condition, ...]:
    return (*rule.when, *rule.unless)


def _lost(old: tuple[Condition, ...], new: tuple[Condition, ...]) -> str:
    """The smallest condition of the old ones that is none of the new ones."""
    kept = [part for each in new for part in everywhere(each)]
    lost = [str(part) for each in old for part in everywhere(each) if part not in kept]
    return min(lost, key=len, default="")
