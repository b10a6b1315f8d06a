"""From the rules that apply to a subject to programs of short symbolic facts for an engine.

Numbers are judged before the engine: what a rule asks for beside chained conclusions reaches it
as one fact, that the rule may fire. Conditions on signs chain inside the engine, and 'not a sign'
is settled between strata.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain, combinations, product

from expert.inference.engine import Engine, Firing, HornRule
from expert.inference.make_engine import Backend, make_engine
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
from expert.made_when_used import dataclass


def may_fire(rule_id: str) -> str:
    """The fact that a rule waits for nothing but conclusions: all else of it holds, and no
    exception is known to be true."""
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
        waited_for = [names for names in inner if names is not None]
        if condition.at_least == len(inner):
            return min(waited_for, key=len, default=None)
        return frozenset().union(*waited_for) if len(waited_for) == len(inner) else None
    return None


@dataclass(frozen=True)
class Stratum:
    """Rules that are evaluated together, with their engine.

    `own` holds the conditions of each rule that wait for no conclusion, `beside` all others and
    what stands in a group with them, by their names; `waiting_for` the rules that cannot fire
    while none of some quantities is known, by each of these, and `others` all other rules.
    """

    rules: tuple[Rule, ...]
    engine: Engine
    own: Mapping[str, tuple[Condition, ...]]
    beside: Mapping[str, Mapping[str, Condition]]
    waiting_for: Mapping[str, tuple[Rule, ...]]
    others: tuple[Rule, ...]

    def run(self, facts: Facts) -> tuple[Firing, ...]:
        """The firings that follow from what is known. The engine is told what still can fire."""
        asserted: set[str] = set()
        for rule in self._worth_trying(facts.known):
            if all(map(facts.holds, self.own[rule.id])) and not any(map(facts.holds, rule.unless)):
                asserted.add(may_fire(rule.id))
                asserted.update(name for name, c in self.beside[rule.id].items() if facts.holds(c))
        return self.engine.run(asserted) if asserted else ()

    def _worth_trying(self, known: Iterable[str]) -> Iterator[Rule]:
        tried: set[str] = set()
        for rule in chain(self.others, *(self.waiting_for.get(name, ()) for name in known)):
            if rule.id not in tried:
                tried.add(rule.id)
                yield rule


def horn_rules(rule: Rule) -> tuple[HornRule, ...]:
    """A rule in the engine's form, one for each way in which it can fire."""
    ways = product(*(branches(condition) for condition in rule.when if chains(condition)))
    head = (f"fired: {rule.id}", *rule.concludes)
    return tuple(
        HornRule(
            f"{rule.id}#{number}",
            tuple(dict.fromkeys((may_fire(rule.id), *(name for names in way for name in names)))),
            head,
        )
        for number, way in enumerate(ways, start=1)
    )


def compile_strata(rules: Mapping[str, Rule], backend: Backend = "auto") -> tuple[Stratum, ...]:
    """The strata of some rules, in the order in which they are to be run."""
    level = strata(rules)
    return tuple(
        _stratum(tuple(rule for rule in rules.values() if level[rule.id] == number), backend)
        for number in sorted(set(level.values()))
    )


def _stratum(rules: tuple[Rule, ...], backend: Backend) -> Stratum:
    own = {rule.id: tuple(c for c in rule.when if not chains(c)) for rule in rules}
    beside = {
        rule.id: {
            atom(part): part
            for condition in rule.when
            if chains(condition)
            for part in outer(condition)
        }
        for rule in rules
    }
    waiting_for: dict[str, tuple[Rule, ...]] = {}
    others = []
    for rule in rules:
        waits = [names for c in own[rule.id] if (names := waits_for(c)) is not None]
        if not waits:
            others.append(rule)
        for quantity in min(waits, key=len, default=()):
            waiting_for[quantity] = (*waiting_for.get(quantity, ()), rule)
    engine = make_engine([horn for rule in rules for horn in horn_rules(rule)], backend)
    return Stratum(rules, engine, own, beside, waiting_for, tuple(others))
