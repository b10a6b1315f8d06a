"""From the rules that apply to a subject to programs of short symbolic facts for an engine.

Numbers are judged before the engine: every condition that waits for no chained conclusion
reaches it as one fact, its own text. Conditions on signs chain inside the engine, and 'not a
sign' is settled between strata.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, product

from expert.inference.engine import Backend, Engine, HornRule, make_engine
from expert.knowledge.conditions import Condition, Group, HasSign, parts
from expert.knowledge.model import Rule
from expert.knowledge.strata import strata


def may_fire(rule_id: str) -> str:
    """The fact that no exception of a rule is known to be true."""
    return f"may fire: {rule_id}"


def atom(condition: Condition) -> str:
    """The name under which a condition is a fact."""
    return str(condition)


def chains(condition: Condition) -> bool:
    """Whether a condition waits for a conclusion of the same stratum."""
    return any(isinstance(part, HasSign) and not part.negated for part in parts(condition))


def branches(condition: Condition) -> tuple[tuple[str, ...], ...]:
    """The sets of facts any one of which makes a condition true."""
    if not isinstance(condition, Group) or not chains(condition):
        return ((atom(condition),),)
    inner = [branches(member) for member in condition.members]
    return tuple(
        tuple(name for names in choice for name in names)
        for chosen in combinations(inner, condition.at_least)
        for choice in product(*chosen)
    )


def outer(condition: Condition) -> tuple[Condition, ...]:
    """The conditions of which `branches` makes facts."""
    if isinstance(condition, Group) and chains(condition):
        return tuple(part for member in condition.members for part in outer(member))
    return (condition,)


@dataclass(frozen=True)
class Stratum:
    """Rules that are evaluated together, with their engine and the facts it needs by name."""

    rules: tuple[Rule, ...]
    engine: Engine
    conditions: Mapping[str, Condition]


def horn_rules(rule: Rule) -> tuple[HornRule, ...]:
    """A rule in the engine's form, one for each way in which it can fire."""
    ways = product(*(branches(condition) for condition in rule.when))
    head = (f"fired: {rule.id}", *rule.concludes)
    return tuple(
        HornRule(
            f"{rule.id}#{number}",
            tuple(dict.fromkeys((*(name for names in way for name in names), may_fire(rule.id)))),
            head,
        )
        for number, way in enumerate(ways, start=1)
    )


def compile_strata(rules: Mapping[str, Rule], backend: Backend = "auto") -> tuple[Stratum, ...]:
    """The strata of some rules, in the order in which they are to be run."""
    level = strata(rules)
    compiled = []
    for stratum in sorted(set(level.values())):
        group = tuple(rule for rule in rules.values() if level[rule.id] == stratum)
        conditions = _unique(
            part for rule in group for condition in rule.when for part in outer(condition)
        )
        horn = tuple(horn for rule in group for horn in horn_rules(rule))
        compiled.append(Stratum(group, make_engine(horn, backend), conditions))
    return tuple(compiled)


def _unique(conditions: Iterable[Condition]) -> dict[str, Condition]:
    return {atom(condition): condition for condition in conditions}
