"""The shipped rules with changes of every sort, to be held against them."""

from __future__ import annotations

from dataclasses import replace

from expert.knowledge.model import Rulebase


def other_rules(rulebase: Rulebase) -> Rulebase:
    """Other limits, strengths and gates; rules and influences taken out, exceptions lifted."""
    limits = tuple(
        replace(
            each,
            high=None if each.high is None else each.high + 0.02 * abs(each.high),
            low=None if number % 7 == 0 else each.low,
            cannot_judge_when=() if number % 5 == 0 else each.cannot_judge_when,
        )
        for number, each in enumerate(rulebase.limits)
    )
    rules = {
        name: replace(rule, unless=() if number % 4 == 0 else rule.unless)
        for number, (name, rule) in enumerate(rulebase.rules.items())
        if rule.concludes or number % 6
    }
    influences = dict(list(rulebase.influences.items())[::2])
    scale = replace(
        rulebase.certainty,
        strengths=rulebase.certainty.strengths | {"moderate": 0.55},
    )
    gates = dict(list(rulebase.gates.items())[1:])
    info = replace(rulebase.info, hash="others")
    return replace(
        rulebase,
        info=info,
        limits=limits,
        rules=rules,
        influences=influences,
        certainty=scale,
        gates=gates,
    )
