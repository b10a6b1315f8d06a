"""What whole cases would say if a rule's evidence had another strength.

A strength changes no condition: each case is evaluated once, and only where the rule fires is it
ranked again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from expert.author.mutation.rejudge import EvaluatedCase, found_with, prepare
from expert.author.scenarios.read import Scenario, ScenarioRunner
from expert.author.scenarios.verdict import unmet
from expert.inference.evaluation_model import Evaluation
from expert.knowledge.model import Rulebase

NOTHING = "nothing"


@dataclass(frozen=True)
class OtherStrength:
    """One of the named strengths, in place of that with which a rule speaks for a cause."""

    rule: str
    cause: str
    strength: str


@dataclass
class Effect:
    """What became of some cases: the same cause first or another, as expected before and after.

    `fires` counts the cases in which the rule speaks at all. `moved` has the name of each case
    with another cause first, what was first and what is.
    """

    judged: int = 0
    fires: int = 0
    right_before: int = 0
    right_after: int = 0
    moved: list[tuple[str, str, str]] = field(default_factory=list)


def tried(
    others: Sequence[OtherStrength], scenarios: Iterable[Scenario], rulebase: Rulebase
) -> tuple[Effect, ...]:
    """The effect of each other strength, alone, on the cases."""
    effects = tuple(Effect() for _ in others)
    runner = ScenarioRunner(rulebase, "plain")
    for scenario in scenarios:
        case = prepare(scenario, runner.evaluator(scenario))
        before = found_with(case, case.evaluator.rules)
        right = not unmet(scenario.expect, before)
        for other, effect in zip(others, effects, strict=True):
            effect.judged += 1
            effect.right_before += right
            if case.truths.get(other.rule) is not True:
                effect.right_after += right
                continue
            effect.fires += 1
            after = _with(other, case)
            effect.right_after += not unmet(scenario.expect, after)
            if (was := _first(before)) != (now := _first(after)):
                effect.moved.append((scenario.title, was, now))
    return effects


def _with(other: OtherStrength, case: EvaluatedCase) -> Evaluation:
    rules = case.evaluator.rules
    rule = rules[other.rule]
    evidence = {**rule.evidence_for, other.cause: other.strength}
    return found_with(case, {**rules, rule.id: replace(rule, evidence_for=evidence)})


def _first(evaluation: Evaluation) -> str:
    return evaluation.findings[0].cause.id if evaluation.findings else NOTHING
