"""What is known now against its limits; quicker than a whole evaluation, for every answer."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Known, Missing, State
from expert.knowledge.conditions import signs_in
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.world import AS_FOUND


@dataclass(frozen=True)
class Standing:
    """What is known in a stage, the state of each of it, and what could not be computed."""

    known: Mapping[str, Known]
    states: Mapping[str, State]
    missing: tuple[Missing, ...]


class Standings:
    """Gives the standing of a picture, and remembers the last one, which is the next 'before'."""

    def __init__(self, runner: Runner, evaluator: Evaluator) -> None:
        self._runner = runner
        self._evaluator = evaluator
        self._last: tuple[Picture, tuple[str, int, str], Standing] | None = None

    @cached_property
    def _chained(self) -> bool:
        """Whether a limit waits for a sign."""
        conditions = (
            each for limit in self._evaluator.rulebase.limits for each in limit.cannot_judge_when
        )
        return any(map(signs_in, conditions))

    def of(self, picture: Picture, active: Active) -> Standing:
        """What is known in the stage and round of a step, on the member it is about."""
        where = active.stage, active.round, active.subject
        if self._last is not None and self._last[0] is picture and self._last[1] == where:
            return self._last[2]
        standing = self._standing(picture, *where)
        self._last = (picture, where, standing)
        return standing

    def _standing(self, picture: Picture, stage: str, round_: int, subject: str) -> Standing:
        evaluator = self._evaluator.member(subject)
        readings = self._runner.readings(picture)
        found = [reading for reading in readings if reading.stage == AS_FOUND]
        if stage == AS_FOUND:
            facts, missing = evaluator.facts(found)
        else:
            left = [each for each in readings if each.stage == stage and each.round == round_]
            facts, missing = evaluator.facts(left, found)
        if self._chained:
            evaluator.run(facts)
        states = {name: facts.state(name) for name in facts.known}
        return Standing(facts.known, states, missing)
