"""Which facts of a plant can make a difference for a drafted rule; only those are asked for."""

from __future__ import annotations

from collections.abc import Collection

from expert.author.interview.suggest_value import names_in
from expert.knowledge.model import Rulebase

_OF_ONE_KIND = ("circuit", "case")  # each has one application and one kind of defrost


def told_apart(names: Collection[str], known: Rulebase) -> frozenset[str]:
    """Keys of `applies` that matter to a rule on some quantities and signs.

    Application and defrost for what is read at a circuit or case; else the keys by which limits of
    the quantities or rules on them differ already. What hangs on a sign hangs on what concludes it.
    """
    read = _quantities(names, known)
    if any(known.quantities[name].subject in _OF_ONE_KIND for name in read):
        return frozenset(("application", "defrost"))
    limits = (limit.applies for limit in known.limits if limit.quantity in read)
    rules = (
        rule.applies
        for rule in known.rules.values()
        if rule.applies and not read.isdisjoint(names_in(rule.when))
    )
    return frozenset(key for applies in (*limits, *rules) for key in applies)


def _quantities(names: Collection[str], known: Rulebase) -> frozenset[str]:
    """The quantities among some names and behind the signs among them."""
    seen, left = set(names), list(names)
    while left:
        name = left.pop()
        behind = (names_in(rule.when) for rule in known.rules.values() if name in rule.concludes)
        new = {each for found in behind for each in found} - seen
        seen |= new
        left += new
    return frozenset(name for name in seen if name in known.quantities)
