"""The tool plays an exercise itself: it reads what it would ask next, says what leads, repairs it.

It acts only by an action whose gates its readings have opened, and prepares what an action needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from expert.errors import ReadingError
from expert.inference.evaluation_model import Finding
from expert.practice.attempt import Attempt, NeedsCaution
from expert.practice.looking_back import MOST_ASKED
from expert.practice.setting_model import PlantAction
from expert.procedure.search import leading

TURNS = 3  # what it repairs at most, one after the other (own choice)


@dataclass(frozen=True)
class PlayedByTool:
    """What came of it. `right` that what it said last before acting is wrong; `stopped` why the
    exercise stopped, where it did; `unproven` actions taken before their gates were open."""

    exercise: str
    right: bool
    first_right: bool
    cured: bool
    readings: int
    minutes: float
    said: tuple[str, ...]
    stopped: str
    unproven: int
    held_back: str = ""


def play_exercise(attempt: Attempt) -> PlayedByTool:
    """Play to the end."""
    said: list[str] = []
    held_back = ""
    first_right = False
    for turn in range(max(TURNS, len(attempt.exercise.faults))):
        finding = _search(attempt, said)
        if finding is None or attempt.over:
            break
        said.append(finding.cause.id)
        right = attempt.say_cause(finding.cause.id)
        first_right = first_right or (turn == 0 and right)
        action = next(iter(attempt.setting.repairs_of(finding.cause.id)), None)
        if action is None:
            continue
        if attempt.shut(action):
            held_back = action.id
            break
        _do(attempt, action)
        if attempt.over or len(attempt.cured()) == len(attempt.exercise.faults):
            break
    stopped, unproven = attempt.stopped, len(attempt.unproven)
    attempt.finish()
    return PlayedByTool(
        attempt.exercise.id, bool(said) and said[-1] in attempt.right, first_right,
        len(attempt.cured()) == len(attempt.exercise.faults),
        len(attempt.read_at), attempt.minutes, tuple(said), stopped, unproven, held_back,
    )  # fmt: skip


def _search(attempt: Attempt, said: Sequence[str]) -> Finding | None:
    """The cause that leads once nothing more tells, or leads clearly; none that was said before."""
    asked: set[str] = set()
    while len(asked) < MOST_ASKED:
        found = attempt.evaluation()
        clear = leading(found, attempt.rulebase)
        if clear is not None and clear.cause.id not in said:
            return clear
        wanted = next(iter(found.next_readings(asked)), None)
        if wanted is None:
            break
        asked.add(wanted.quantity.id)
        try:
            _sure(attempt, lambda quantity=wanted.quantity: attempt.read(quantity))
        except ReadingError:
            try:
                attempt.start_defrost()
                _sure(attempt, lambda quantity=wanted.quantity: attempt.read(quantity))
            except ReadingError:
                continue
        if attempt.over:
            return None
    findings = attempt.evaluation().findings
    return next((f for f in findings if not f.cause.symptom and f.cause.id not in said), None)


def _do(attempt: Attempt, action: PlantAction) -> None:
    """Prepare, do it, and put back what was prepared."""
    actions = attempt.setting.actions
    for name in action.needs:
        if name not in attempt.holds:
            _sure(attempt, lambda each=actions[name]: attempt.act(each))
    _sure(attempt, lambda: attempt.act(action))
    for each in actions.values():
        if not attempt.over and set(each.ends) & attempt.holds:
            _sure(attempt, lambda back=each: attempt.act(back))


def _sure(attempt: Attempt, do: object) -> None:
    """Do something, each caution before it seen to."""
    assert callable(do)
    while True:
        try:
            do()
        except NeedsCaution as needed:
            attempt.confirm(needed.caution.id, yes=True)
        else:
            return


@dataclass(frozen=True)
class ToolScore:
    """What the tool came to over many exercises: a figure of the rulebase."""

    played: tuple[PlayedByTool, ...]

    @property
    def right(self) -> int:
        """In how many it said first what is wrong."""
        return sum(each.first_right for each in self.played)

    @property
    def cured(self) -> int:
        """In how many all was put right."""
        return sum(each.cured for each in self.played)

    @property
    def dangerous(self) -> int:
        """In how many it did what stops an exercise."""
        return sum(bool(each.stopped) for each in self.played)

    @property
    def readings(self) -> float:
        """Readings an exercise took on average."""
        return sum(each.readings for each in self.played) / max(len(self.played), 1)

    @property
    def minutes(self) -> float:
        """Minutes an exercise took on average, repairs and ways included."""
        return sum(each.minutes for each in self.played) / max(len(self.played), 1)


def score_of(attempts: Iterable[Attempt]) -> ToolScore:
    """All of them played."""
    played: Sequence[PlayedByTool] = [play_exercise(each) for each in attempts]
    return ToolScore(tuple(played))
