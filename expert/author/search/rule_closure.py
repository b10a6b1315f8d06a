"""The part of a rulebase that one rule hangs on: itself, what concludes its signs, its quantities.

A rule judged in its closure does what it does in the whole rulebase, in a small part of the time;
so thousands of changed rulebases can be tried.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from expert.knowledge.conditions import quantities_anywhere
from expert.knowledge.load_rulebase import limits_by_quantity
from expert.knowledge.model import Limit, Rule, Rulebase
from expert.knowledge.strata import rules_by_sign


class RuleClosure:
    """The closures of every rule, and which rules a change of a rule or a limit can reach."""

    def __init__(self, rulebase: Rulebase):
        self.rulebase = rulebase
        self._limits = limits_by_quantity(rulebase.limits)
        self._concluding = rules_by_sign(rulebase.rules.values())
        self._bearing: dict[str, list[Rule]] = {}
        self._about: dict[str, Rulebase] = {}
        for rule in rulebase.rules.values():
            for cause in (*rule.evidence_for, *rule.evidence_against):
                self._bearing.setdefault(cause, []).append(rule)
        self._closures: dict[str, Rulebase] = {}
        self._reached: dict[str, list[str]] = {}
        self._looking: dict[str, list[str]] = {}
        for rule in rulebase.rules.values():
            below = self._below([rule])
            for name in below:
                self._reached.setdefault(name, []).append(rule.id)
            looked_at = self._looks_at(self.rulebase.rules[name] for name in below)
            for quantity in looked_at:
                self._looking.setdefault(quantity, []).append(rule.id)

    def of(self, rule_id: str) -> Rulebase:
        """The closure of a rule."""
        if rule_id not in self._closures:
            self._closures[rule_id] = self._closure_of([self.rulebase.rules[rule_id]])
        return self._closures[rule_id]

    def about(self, cause: str) -> Rulebase:
        """The closure of all rules for and against a cause."""
        if cause not in self._about:
            self._about[cause] = self._closure_of(self.bearing_on(cause))
        return self._about[cause]

    def bearing_on(self, cause: str) -> tuple[Rule, ...]:
        """The rules that are evidence for or against a cause."""
        return tuple(self._bearing.get(cause, ()))

    def reached_by_rule(self, rule_id: str) -> tuple[str, ...]:
        """Rules that can do otherwise when a rule changes: itself first."""
        others = (name for name in self._reached.get(rule_id, ()) if name != rule_id)
        return (rule_id, *others)

    def reached_by_limit(self, quantity: str) -> tuple[str, ...]:
        """Rules that can do otherwise when the limit of a quantity changes; the nearest first."""
        return tuple(
            sorted(self._looking.get(quantity, ()), key=lambda name: len(self._rules(name)))
        )

    def concluding(self, sign: str) -> tuple[str, ...]:
        """The rules that conclude a sign."""
        return tuple(rule.id for rule in self._concluding.get(sign, ()))

    def _rules(self, rule_id: str) -> tuple[str, ...]:
        return tuple(self.of(rule_id).rules)

    def _below(self, tops: Iterable[Rule]) -> tuple[str, ...]:
        waiting = list(tops)
        found = dict.fromkeys(rule.id for rule in waiting)
        while waiting:
            for sign in waiting.pop().needed_signs:
                for rule in self._concluding.get(sign, ()):
                    if rule.id not in found:
                        found[rule.id] = None
                        waiting.append(rule)
        return tuple(found)

    def _looks_at(self, rules: Iterable[Rule]) -> dict[str, None]:
        return dict.fromkeys(name for rule in rules for name in rule.looks_at)

    def _closure_of(self, tops: Iterable[Rule]) -> Rulebase:
        rules = set(self._below(tops))
        names = list(self._looks_at(self.rulebase.rules[name] for name in rules))
        needed: dict[str, None] = {}
        limits: dict[str, Limit] = {}
        while names:
            name = names.pop()
            if name in needed:
                continue
            needed[name] = None
            for limit in self._limits.get(name, ()):
                limits[limit.id] = limit
                for condition in limit.cannot_judge_when:
                    names += quantities_anywhere(condition)
            derivation = self.rulebase.quantities[name].derivation
            if derivation is not None:
                names += derivation.rests_on
        return self.cut(rules, set(needed), set(limits))

    def cut(self, rules: set[str], quantities: set[str], limits: set[str]) -> Rulebase:
        """A rulebase with only these rules, quantities and limits, and the signs of the rules."""
        base = self.rulebase
        # a rulebase is in the order of its ids
        kept = {name: base.rules[name] for name in sorted(rules)}
        signs = {sign for each in kept.values() for sign in (*each.needed_signs, *each.concludes)}
        return replace(
            base,
            quantities={name: base.quantities[name] for name in sorted(quantities)},
            limits=tuple(limit for limit in base.limits if limit.id in limits),
            signs={name: base.signs[name] for name in sorted(signs)},
            rules=kept,
        )
