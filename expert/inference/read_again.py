"""Whether what decided a finding was read again after a change: only then is it put right."""

from __future__ import annotations

from expert.inference.certainty import combined
from expert.inference.evaluation_model import Evaluation, Finding, FiredRule
from expert.knowledge.conditions import quantities_in


def read_again(finding: Finding, left: Evaluation, threshold: float) -> bool:
    """Whether what was not read again could no longer show a finding by itself.

    `threshold` is the certainty below which a cause is not shown.
    """
    again = [step for step in finding.evidence if _gone(step, left)]
    rest = [step.weight for step in finding.evidence if step not in again]
    return bool(again) and combined(rest) < threshold


def _gone(step: FiredRule, left: Evaluation) -> bool:
    """Whether a rule is known not to hold any more: each of its conditions was looked at again, or
    a sign it rests on is gone."""
    if step.rule.id in left.fired:
        return False
    names = [each for each in map(quantities_in, step.rule.when) if each]
    again = bool(names) and all(any(name in left.known for name in each) for each in names)
    return again or any(_gone(each, left) for each in step.rests_on)
