"""Readings that cannot all be right, told as soon as the last of them is entered."""

from __future__ import annotations

from collections.abc import Sequence

from expert.knowledge.model import Rule, Rulebase
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.world import AS_FOUND


def contradictions(runner: Runner, picture: Picture, active: Active) -> tuple[Rule, ...]:
    """The rules that find readings of a step's stage to contradict one another."""
    readings = runner.readings(picture)
    found = tuple(each for each in readings if each.stage == AS_FOUND)
    judged, before = found, None
    if active.stage != AS_FOUND:
        where = active.stage, active.round
        judged = tuple(each for each in readings if (each.stage, each.round) == where)
        before = found
    return tuple(
        rule
        for rule in _doubting(runner.rulebase)
        if all(runner.holds(c, judged, before, active.subject) for c in rule.when)
        and not any(runner.holds(c, judged, before, active.subject) for c in rule.unless)
    )


def _doubting(rulebase: Rulebase) -> Sequence[Rule]:
    return [rule for rule in rulebase.rules.values() if rule.doubts]
