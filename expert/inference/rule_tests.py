"""Runs the tests that stand beside the rules."""

from __future__ import annotations

from dataclasses import dataclass

from expert.inference.derive import derive
from expert.inference.engine import Backend
from expert.inference.evaluate import Evaluator, rule_truth
from expert.inference.model import Reading
from expert.inference.truth import Facts, Truth
from expert.knowledge.model import Given, Rule, Rulebase, RuleTest
from expert.knowledge.site import Subject
from expert.units.kinds import Kind
from expert.units.measure import Measure
from expert.units.parse import parse_measure

DEFAULT_FACTS = {
    "application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A",
}  # fmt: skip
_WORDS: dict[Truth, str] = {True: "fires", False: "silent", None: "undecided"}


@dataclass(frozen=True)
class Outcome:
    """What one test of one rule came to."""

    rule: Rule
    test: RuleTest
    got: str

    @property
    def passed(self) -> bool:
        """Whether the rule did what its test expects."""
        return self.got == self.test.expect

    def __str__(self) -> str:
        verdict = "as expected" if self.passed else f"expected {self.test.expect}"
        return f"{self.test.place}: {self.rule.id}: {self.got}, {verdict}"


def run_rule_tests(rulebase: Rulebase, backend: Backend = "auto") -> tuple[Outcome, ...]:
    """Every test of every rule, in the order of the files."""
    evaluators: dict[tuple[tuple[str, str], ...], Evaluator] = {}
    outcomes = []
    for rule in rulebase.rules.values():
        for test in rule.tests:
            facts = {**DEFAULT_FACTS, **test.facts}
            key = tuple(sorted(facts.items()))
            if key not in evaluators:
                subject = Subject("test", "rule test", "circuit", "test", facts)
                evaluators[key] = Evaluator(rulebase, subject, backend=backend)
            outcomes.append(Outcome(rule, test, _outcome(rule, test, evaluators[key])))
    return tuple(outcomes)


def _outcome(rule: Rule, test: RuleTest, evaluator: Evaluator) -> str:
    base = evaluator.rulebase
    readings = [r for given in test.given for r in _readings(given, base)]
    known, _ = derive(readings, evaluator.subject, base.quantities)
    facts = Facts(known, base.quantities, evaluator.limits)
    told = {
        given.name: given.texts[0] == "yes" for given in test.given if given.name in base.signs
    }
    fired = evaluator.run(facts, told)
    if rule.id not in evaluator.rules:
        return "silent"
    if rule in fired:
        return "fires"
    return _WORDS[rule_truth(rule, facts)]


def _readings(given: Given, rulebase: Rulebase) -> list[Reading]:
    quantity = rulebase.quantities.get(given.name)
    if quantity is None:
        return []
    if quantity.kind in (Kind.CHOICE, Kind.TEXT):
        return [Reading(quantity.id, text, text) for text in given.texts]
    return [
        Reading(
            quantity.id,
            Measure(quantity.kind, parse_measure(text, quantity.kind).value, quantity.accuracy),
            text,
        )
        for text in given.texts
    ]
