"""Causes that no reading can tell apart: the same readings speak for them, and against them."""

from __future__ import annotations

from collections.abc import Iterator

from expert.knowledge.conditions import HasSign, parts
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.strata import rules_by_sign

Basis = frozenset[str]


def alike(rulebase: Rulebase) -> Iterator[tuple[str, ...]]:
    """Groups of causes with rules for them that rest on the very same readings and states.

    A reading tells two causes apart when one of its possible states is part of what speaks for
    (or against) the one and not the other. Signs are followed down to the readings behind them.
    """
    groups: dict[tuple[frozenset[Basis], frozenset[Basis]], list[str]] = {}
    reader = _Bases(rulebase)
    for cause in rulebase.causes:
        pro = [rule for rule in rulebase.rules.values() if cause in rule.evidence_for]
        con = [rule for rule in rulebase.rules.values() if cause in rule.evidence_against]
        if pro:
            key = (frozenset(map(reader.basis, pro)), frozenset(map(reader.basis, con)))
            groups.setdefault(key, []).append(cause)
    yield from (tuple(group) for group in groups.values() if len(group) > 1)


class _Bases:
    """What each rule rests on, as the texts of conditions on readings; negative ones with 'not'."""

    def __init__(self, rulebase: Rulebase):
        self._concluding = rules_by_sign(rulebase.rules.values())
        self._known: dict[str, Basis] = {}

    def basis(self, rule: Rule) -> Basis:
        """Everything a rule rests on, its subject's facts included."""
        if rule.id not in self._known:
            found = {f"{key}: {', '.join(sorted(words))}" for key, words in rule.applies.items()}
            for exception, conditions in ((False, rule.when), (True, rule.unless)):
                for condition in conditions:
                    for part in parts(condition):
                        negated = exception
                        texts = {str(part)}
                        if isinstance(part, HasSign):
                            negated ^= part.negated
                            texts = self._under(part.sign)
                        found |= {f"not {text}" if negated else text for text in texts}
            self._known[rule.id] = frozenset(found)
        return self._known[rule.id]

    def _under(self, sign: str) -> set[str]:
        rules = self._concluding.get(sign, ())
        return {text for rule in rules for text in self.basis(rule)} or {sign}
