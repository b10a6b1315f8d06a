"""From the rules that apply to a subject to programs of short symbolic facts for an engine.

Numbers are judged before the engine: every condition that waits for no chained conclusion
reaches it as one fact, its own text. Conditions on signs chain inside the engine, and 'not a
sign' is settled between strata.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, product

from expert.inference.engine import Backend, Engine, HornRule, make_engine
from expert.knowledge.conditions import KNOWN, Condition, Group, HasSign, Is, parts
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
    """Rules that are evaluated together, with their engine and the facts it needs by name.

    `needed` holds, for each rule, the facts without which it cannot fire whatever is concluded;
    `waiting_for` the names of conditions on one quantity by it, `others` all other names.
    """

    rules: tuple[Rule, ...]
    engine: Engine
    conditions: Mapping[str, Condition]
    needed: Mapping[str, frozenset[str]]
    waiting_for: Mapping[str, tuple[str, ...]]
    others: tuple[str, ...]

    def worth_asking(self, known: Iterable[str]) -> Iterator[tuple[str, Condition]]:
        """The conditions that can hold: on quantities that are known, and those on more."""
        for quantity in known:
            for name in self.waiting_for.get(quantity, ()):
                yield name, self.conditions[name]
        for name in self.others:
            yield name, self.conditions[name]


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
        needed = {rule.id: frozenset(atom(c) for c in rule.when if not chains(c)) for rule in group}
        waiting_for: dict[str, tuple[str, ...]] = {}
        others = []
        for name, condition in conditions.items():
            if isinstance(condition, Is) and condition.word != KNOWN:
                waiting = waiting_for.get(condition.quantity, ())
                waiting_for[condition.quantity] = (*waiting, name)
            else:
                others.append(name)
        engine = make_engine(horn, backend)
        compiled.append(Stratum(group, engine, conditions, needed, waiting_for, tuple(others)))
    return tuple(compiled)


def _unique(conditions: Iterable[Condition]) -> dict[str, Condition]:
    return {atom(condition): condition for condition in conditions}
