"""Judges a scenario again after one rule or limit has changed, working out only what that touches.

The findings are those of a full evaluation, without their sentences.
"""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from expert.author.scenarios.read import Scenario
from expert.author.scenarios.verdict import unmet
from expert.author.search.rule_closure import RuleClosure
from expert.inference.advice import advise
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Evaluation, NextReading
from expert.inference.findings import findings_of, nest
from expert.inference.influences import Influences
from expert.inference.kleene import Truth
from expert.inference.next_reading import StillOpen
from expert.inference.sentences import Speaker
from expert.inference.sign_truth import rule_truth
from expert.inference.truth import Facts
from expert.inference.waiting import Waiting
from expert.knowledge.conditions import Is
from expert.knowledge.model import Gate, Limit, Rule, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.resolve import NUMBER_STATES


@dataclass(frozen=True)
class EvaluatedCase:
    """A scenario with the facts it leads to, and what each rule does on them.

    What is worth measuring next is worked out once: one change of a rule does not empty the list.
    """

    scenario: Scenario
    evaluator: Evaluator
    facts: Facts
    truths: Mapping[str, Truth]
    measure_next: tuple[NextReading, ...] = ()


def prepare(scenario: Scenario, evaluator: Evaluator) -> EvaluatedCase:
    """The scenario evaluated once, on the rulebase as it is."""
    given = scenario.given
    facts, _ = evaluator.facts(given.readings, given.found)
    evaluator.run(facts)
    truths = {rule.id: rule_truth(rule, facts) for rule in evaluator.rules.values()}
    worth: tuple[NextReading, ...] = ()
    if scenario.expect.undecided:
        waiting = Waiting(tuple(evaluator.rules.values()), facts, evaluator.rulebase.quantities)
        worth = StillOpen(waiting, (), evaluator.influences(facts)).readings
    return EvaluatedCase(scenario, evaluator, facts, truths, worth)


def fails(case: EvaluatedCase) -> bool:
    """Whether a scenario fails on the rulebase as it is."""
    return bool(unmet(case.scenario.expect, found_with(case, case.evaluator.rules)))


def found_with(case: EvaluatedCase, rules: Mapping[str, Rule]) -> Evaluation:
    """What is found where rules have other evidence, their conditions being what they were."""
    return _found(case, case.facts, rules, case.truths, case.evaluator.rulebase)


def fails_with_rule(case: EvaluatedCase, rule: Rule, closure: RuleClosure) -> bool:
    """Whether a scenario fails with one rule changed."""
    base = closure.rulebase
    old = base.rules[rule.id]
    subject = case.evaluator.subject
    before = case.truths.get(rule.id, False)
    after: Truth = applies_to(rule.applies, subject) and rule_truth(rule, case.facts)
    if before == after:
        heads = (rule.evidence_for, rule.evidence_against, rule.concludes)
        if heads == (old.evidence_for, old.evidence_against, old.concludes):
            return False
        if after is not True:
            return False
    rules = dict(case.evaluator.rules)
    if applies_to(rule.applies, subject):
        rules[rule.id] = rule
    else:
        rules.pop(rule.id, None)
    facts = replace(case.facts, signs=dict(case.facts.signs))
    truths = _again(case, facts, closure.reached_by_rule(rule.id), rules, closure)
    return _fails(case, facts, rules, truths, base)


def fails_with_limit(case: EvaluatedCase, limit: Limit, closure: RuleClosure) -> bool:
    """Whether a scenario fails with one limit changed."""
    facts = _facts_with(case, limit)
    if facts is None:
        return False
    facts.signs = dict(case.facts.signs)
    reached = closure.reached_by_limit(limit.quantity)
    rules = case.evaluator.rules
    truths = _again(case, facts, reached, rules, closure)
    return _fails(case, facts, rules, truths, closure.rulebase)


def fails_with_gate(case: EvaluatedCase, gate: Gate, rulebase: Rulebase) -> bool:
    """Whether a scenario fails with one gate changed: only advice hangs on gates."""
    if not case.scenario.expect.advice_held:
        return False
    changed = replace(rulebase, gates={**rulebase.gates, gate.id: gate})
    return _fails(case, case.facts, case.evaluator.rules, case.truths, changed)


def _facts_with(case: EvaluatedCase, limit: Limit) -> Facts | None:
    """The facts with a limit changed; None where that limit is not in force or changes no state."""
    evaluator, facts = case.evaluator, case.facts
    in_force = _replaced(evaluator.limits, limit)
    members = {name: _replaced(limits, limit) for name, limits in evaluator.member_limits.items()}
    if in_force is evaluator.limits and all(
        members[name] is limits for name, limits in evaluator.member_limits.items()
    ):
        return None
    if members or case.scenario.given.found is not None:
        changed = copy.copy(evaluator)
        changed.limits = dict(in_force)
        changed.member_limits = {name: dict(limits) for name, limits in members.items()}
        return changed.facts(case.scenario.given.readings, case.scenario.given.found)[0]
    made = Facts(facts.known, facts.quantities, in_force)
    made.stages = {"as found": made}
    states = [Is(limit.quantity, word) for word in NUMBER_STATES]
    return made if any(facts.holds(each) != made.holds(each) for each in states) else None


def _replaced(limits: dict[str, Limit], limit: Limit) -> dict[str, Limit]:
    old = limits.get(limit.quantity)
    return {**limits, limit.quantity: limit} if old and old.id == limit.id else limits


def _again(
    case: EvaluatedCase,
    facts: Facts,
    reached: Collection[str],
    rules: Mapping[str, Rule],
    closure: RuleClosure,
) -> dict[str, Truth]:
    """What every rule does now: those that were reached again, with the signs they wait for."""
    truths = {name: truth for name, truth in case.truths.items() if name not in set(reached)}

    def truth_of(rule: Rule) -> Truth:
        if rule.id not in truths:
            for sign in rule.needed_signs:
                facts.signs[sign] = sign_truth(sign)
            truths[rule.id] = rule_truth(rule, facts)
        return truths[rule.id]

    def sign_truth(sign: str) -> Truth:
        found = [
            truth_of(rules[name])
            for name in closure.concluding(sign)
            if name in rules and sign in rules[name].concludes
        ]
        return True if True in found else None if None in found else False

    for name in reached:
        if name in rules:
            truth_of(rules[name])
    for sign in {sign for name in reached for sign in closure.rulebase.rules[name].concludes}:
        facts.signs[sign] = sign_truth(sign)
    return truths


def _fails(
    case: EvaluatedCase,
    facts: Facts,
    rules: Mapping[str, Rule],
    truths: Mapping[str, Truth],
    rulebase: Rulebase,
) -> bool:
    return bool(unmet(case.scenario.expect, _found(case, facts, rules, truths, rulebase)))


def _found(
    case: EvaluatedCase,
    facts: Facts,
    rules: Mapping[str, Rule],
    truths: Mapping[str, Truth],
    rulebase: Rulebase,
) -> Evaluation:
    expect = case.scenario.expect
    fired = [rule for rule in rules.values() if truths.get(rule.id) is True]
    influences = Influences(rulebase, facts)
    found = findings_of(fired, rulebase, influences)
    if expect.advice_held:
        speaker = Speaker(rulebase, facts.known, facts.limits, "us")
        found = {
            name: replace(each, held_back=advise(each.cause, facts, speaker)[1])
            for name, each in found.items()
        }
    return Evaluation({}, {}, nest(found, influences), (), "", (), lambda _: case.measure_next)
