"""Failures of rule tests and scenarios in lines that a lead can act on."""

from __future__ import annotations

from collections.abc import Iterator

from expert.author.rule_tests import Outcome, evaluator_for, fired_on, judged
from expert.author.scenarios.read import ScenarioRunner
from expert.author.scenarios.verdict import Failure, ScenarioOutcome
from expert.inference.explain import Checked, RuleStanding, checked, explain, find
from expert.inference.sentences import Speaker
from expert.knowledge.model import Rulebase

_NEAREST = 3  # rules shown for a cause that was not found
_INDENT = "    "


def rule_test_lines(outcome: Outcome, rulebase: Rulebase) -> Iterator[str]:
    """A failed rule test: what was expected, and every condition with what it met."""
    rule, test = outcome.rule, outcome.test
    yield f"{test.place}: {rule.id}: {'; '.join(outcome.otherwise)}"
    evaluator = evaluator_for(test, rulebase, "plain", {})
    if rule.id not in evaluator.rules:
        yield f"{_INDENT}'applies:' of the rule leaves this test's subject out; see its 'facts:'"
        return
    if outcome.got == test.expect:
        yield from _finding_lines(outcome, rulebase)
        return
    _, facts = judged(rule, test, evaluator)
    speaker = Speaker(rulebase, facts.known, evaluator.limits, evaluator.system)
    for each in checked(rule, facts, speaker):
        yield f"{_INDENT}{_condition(each)}"


def _finding_lines(outcome: Outcome, rulebase: Rulebase) -> Iterator[str]:
    """For each cause that is surer or less sure than expected, the rules that fire on it."""
    evaluator = evaluator_for(outcome.test, rulebase, "plain", {})
    fired = fired_on(outcome.test, evaluator)
    for cause, word in outcome.test.finds.items():
        if outcome.found[cause] == word:
            continue
        for rule in fired:
            for side, evidence in (("for", rule.evidence_for), ("against", rule.evidence_against)):
                if cause in evidence:
                    message = f"{rule.id} fires, {evidence[cause]} {side} it, {rule.place}"
                    yield f"{_INDENT}{cause}: {message}"


def _condition(each: Checked) -> str:
    mark = {True: "holds", False: "fails", None: "open "}[each.truth]
    return f"{mark}: {'unless ' if each.exception else ''}{each.text}"


def scenario_lines(outcome: ScenarioOutcome, scenario_runner: ScenarioRunner) -> Iterator[str]:
    """A failed scenario: each expectation with what came instead, and why."""
    scenario = outcome.scenario
    yield f"{scenario.place}: {scenario.title}"
    explained: set[str] = set()
    for failure in outcome.failures:
        yield f"{_INDENT}expected {failure.expected}"
        yield f"{_INDENT}but got  {failure.got}"
        if failure.cause and failure.cause not in explained:
            explained.add(failure.cause)
            yield from _why(failure, outcome, scenario_runner)


def _why(
    failure: Failure, outcome: ScenarioOutcome, scenario_runner: ScenarioRunner
) -> Iterator[str]:
    evaluator = scenario_runner.evaluator(outcome.scenario)
    given = outcome.scenario.given
    finding = find(outcome.evaluation, failure.cause)
    explanation = explain(evaluator, given.readings, failure.cause, given.found, turns=False)
    title = scenario_runner.rulebase.causes[failure.cause].title
    if not explanation.rules:
        yield f"{_INDENT}no rule for or against '{title}' applies to this subject"
        return
    if finding is None:
        yield f"{_INDENT}'{title}' was not found. Nearest rules:"
        nearest = [s for s in explanation.rules if s.strength > 0]
        against = [s for s in explanation.rules if s.strength < 0 and s.does == "fires"]
        for standing in (*nearest[:_NEAREST], *against):
            yield from _standing(standing)
    else:
        yield f"{_INDENT}'{title}' is {finding.words} ({finding.certainty:.2f}), because of:"
        for standing in explanation.rules:
            if standing.does == "fires":
                yield from _standing(standing)
    top = outcome.evaluation.findings[0] if outcome.evaluation.findings else None
    if failure.expected.startswith("first") and top and top.cause.id != failure.cause:
        yield f"{_INDENT}'{top.cause.title}' came first, because of:"
        for step in top.evidence:
            yield f"{_INDENT * 2}{step.rule.id} ({step.weight:.2f}), {step.rule.place}"


def _standing(standing: RuleStanding) -> Iterator[str]:
    side = "for it" if standing.strength > 0 else "against it"
    rule = standing.rule
    head = f"{rule.id}, {side} ({abs(standing.strength):.2f}): {standing.does}"
    yield f"{_INDENT * 2}{head}, {rule.place}"
    if standing.does != "fires":
        for each in (*standing.failing, *standing.unknown):
            yield f"{_INDENT * 3}{_condition(each)}"


def outcome_json(outcome: Outcome) -> dict[str, object]:
    """A failed rule test for other programs."""
    return {
        "place": str(outcome.test.place),
        "rule": outcome.rule.id,
        "expected": outcome.test.expect,
        "got": outcome.got,
        "otherwise": list(outcome.otherwise),
    }


def scenario_json(outcome: ScenarioOutcome) -> dict[str, object]:
    """A failed scenario for other programs."""
    return {
        "place": str(outcome.scenario.place),
        "title": outcome.scenario.title,
        "failures": [{"expected": each.expected, "got": each.got} for each in outcome.failures],
    }
