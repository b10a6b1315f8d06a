"""From the rules that apply to a subject to programs of short symbolic facts for an engine.

Numbers are judged before the engine: every condition that waits for no chained conclusion
reaches it as one fact, its own text. Conditions on signs chain inside the engine, and 'not a
sign' is settled between strata.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, product

from expert.inference.engine import Backend, Engine, Firing, HornRule, make_engine
from expert.inference.truth import Facts
from expert.knowledge.conditions import (
    KNOWN,
    Compare,
    Condition,
    Course,
    Group,
    HasSign,
    Is,
    parts,
    quantities_in,
)
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


def waits_for(condition: Condition) -> frozenset[str] | None:
    """Quantities of which at least one must be known for a condition to be true; None: none."""
    if isinstance(condition, Is):
        asks_whether = condition.word == KNOWN and condition.negated
        return None if asks_whether else frozenset((condition.quantity,))
    if isinstance(condition, Compare | Course):
        return frozenset(quantities_in(condition)[:1]) or None
    if isinstance(condition, Group):
        inner = [waits_for(member) for member in condition.members]
        told = [names for names in inner if names is not None]
        if condition.at_least == len(inner):
            return min(told, key=len, default=None)
        return frozenset().union(*told) if len(told) == len(inner) else None
    return None


@dataclass(frozen=True)
class Stratum:
    """Rules that are evaluated together, with their engine and the facts it needs by name.

    `needed` holds, for each rule, the facts without which it cannot fire whatever is concluded,
    and `bodies` all facts that it may use; `waiting_for` the names of the conditions that wait
    for a quantity, `others` those that wait for none.
    """

    rules: tuple[Rule, ...]
    engine: Engine
    conditions: Mapping[str, Condition]
    needed: Mapping[str, frozenset[str]]
    bodies: Mapping[str, frozenset[str]]
    waiting_for: Mapping[str, tuple[str, ...]]
    others: tuple[str, ...]

    def run(self, facts: Facts) -> tuple[Firing, ...]:
        """The firings that follow from what is known.

        The engine is told only of rules that still can fire, and of the facts that these use.
        """
        names = {
            name for name in self._worth_asking(facts.known) if facts.holds(self.conditions[name])
        }
        used: set[str] = set()
        for rule in self.rules:
            if self.needed[rule.id] <= names and not any(map(facts.holds, rule.unless)):
                names.add(may_fire(rule.id))
                used |= self.bodies[rule.id]
        return self.engine.run(names & used) if used else ()

    def _worth_asking(self, known: Iterable[str]) -> set[str]:
        """The conditions that can hold with these quantities known."""
        waiting = self.waiting_for
        return set(self.others).union(*(waiting[name] for name in known if name in waiting))


def horn_rules(rule: Rule) -> tuple[HornRule, ...]:
    """A rule in the engine's form, one for each way in which it can fire."""
    ways = product(*(branches(condition) for condition in rule.when))
    allowed = (may_fire(rule.id),) if rule.unless else ()
    head = (f"fired: {rule.id}", *rule.concludes)
    return tuple(
        HornRule(
            f"{rule.id}#{number}",
            tuple(dict.fromkeys((*(name for names in way for name in names), *allowed))),
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
        bodies: dict[str, frozenset[str]] = {}
        for each in horn:
            rule_id = each.name.rpartition("#")[0]
            bodies[rule_id] = bodies.get(rule_id, frozenset()).union(each.body)
        waiting_for: dict[str, tuple[str, ...]] = {}
        others = []
        for name, condition in conditions.items():
            quantities = waits_for(condition)
            if quantities is None:
                others.append(name)
            for quantity in quantities or ():
                waiting_for[quantity] = (*waiting_for.get(quantity, ()), name)
        engine = make_engine(horn, backend)
        compiled.append(
            Stratum(group, engine, conditions, needed, bodies, waiting_for, tuple(others))
        )
    return tuple(compiled)


def _unique(conditions: Iterable[Condition]) -> dict[str, Condition]:
    return {atom(condition): condition for condition in conditions}
