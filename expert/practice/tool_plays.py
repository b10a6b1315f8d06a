"""The tool plays an exercise itself: it reads what it would ask next, says what leads, repairs it.

It acts only by an action whose gates its readings have opened, and prepares what an action needs.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial

from expert.errors import ReadingError
from expert.inference.evaluation_model import Finding
from expert.knowledge.conditions import Condition, parts, quantities_in, signs_in
from expert.knowledge.model import Quantity
from expert.plant.live import CURVES
from expert.practice.attempt import Attempt, NeedsCaution
from expert.practice.defrost_clock import COIL
from expert.practice.setting_model import PlantAction
from expert.procedure.entries import Entry
from expert.procedure.search import MOST, leading

TURNS = 3  # what it repairs at most, one after the other (own choice)
# Readings through which a cause leads on before it is said, of a part that was seen and of what was
# reasoned: a wrong repair costs hours and a reading minutes (own choices).
SEEN, REASONED = 1, 5
AGAIN = 3.0  # minutes after which a curve of a defrost is read once more (own choice)


@dataclass(frozen=True)
class PlayedByTool:
    """What came of it. `first_right`: what it said first is what is wrong; `stopped`: why the
    exercise stopped, where it did; `unproven`: actions before their gates were open;
    `held_back`: the action that it left undone because a gate stayed shut."""

    exercise: str
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
    _at_the_door(attempt)
    for turn in range(max(TURNS, len(attempt.exercise.faults))):
        finding, held_back = _shown(attempt, said)
        if finding is None or attempt.over:
            break
        said.append(finding.cause.id)
        right = attempt.say_cause(finding.cause.id)
        first_right = first_right or (turn == 0 and right)
        action = _repair(attempt, finding)
        if held_back:
            break
        if action is not None:
            _do(attempt, action)
        if attempt.over or len(attempt.cured()) == len(attempt.exercise.faults):
            break
    stopped, unproven = attempt.stopped, len(attempt.unproven)
    attempt.finish()
    return PlayedByTool(
        attempt.exercise.id, first_right,
        len(attempt.cured()) == len(attempt.exercise.faults),
        len(attempt.read_at), attempt.minutes, tuple(said), stopped, unproven, held_back,
    )  # fmt: skip


def _repair(attempt: Attempt, finding: Finding) -> PlantAction | None:
    return next(iter(attempt.setting.repairs_of(finding.cause.id)), None)


def _shown(attempt: Attempt, said: Sequence[str]) -> tuple[Finding | None, str]:
    """The cause to be said, and the action for it that a gate still holds back.

    Where a gate stays shut after what it waits for was read, what leads is not shown to be so: the
    search goes on, and only where it finds nothing better is that cause said.
    """
    held: list[str] = []
    while True:
        finding = _search(attempt, (*said, *held))
        if finding is None or attempt.over:
            break
        action = _repair(attempt, finding)
        if action is None or not _stays_shut(attempt, action):
            return finding, ""
        held.append(finding.cause.id)
    findings = attempt.evaluation().findings
    first = next((each for each in findings if each.cause.id in held), None)
    action = _repair(attempt, first) if first is not None else None
    return first, action.id if action else ""


def _at_the_door(attempt: Attempt) -> None:
    """Read the meter of a place that has one before going in, and air it where it says so."""
    if (alarm := attempt.exercise.alarm) is None:
        return
    quantity = attempt.rulebase.quantities[alarm.quantity]
    entry: list[Entry] = []
    _sure(attempt, lambda: entry.append(attempt.read(quantity)))
    if entry[-1].text("text") == alarm.reads:
        until = attempt.setting.actions[alarm.until]
        _sure(attempt, partial(attempt.act, until))


def _search(attempt: Attempt, apart: Collection[str]) -> Finding | None:
    """The cause that leads clearly and goes on leading, or once nothing more tells the first one;
    none of those set apart."""
    asked = {*attempt.not_here}
    leader, stood = "", 0
    for _ in range(MOST):
        found = attempt.evaluation()
        clear = leading(found, attempt.rulebase)
        now = clear.cause.id if clear is not None and clear.cause.id not in apart else ""
        leader, stood = now, stood + 1 if now == leader else 0
        if clear is not None and leader and stood >= _must_stand(clear):
            return clear
        wanted = next(iter(found.next_readings(asked)), None)
        if wanted is None:
            break
        asked.add(wanted.quantity.id)
        _take(attempt, wanted.quantity)
        if attempt.over:
            return None
    findings = attempt.evaluation().findings
    return next((f for f in findings if not f.cause.symptom and f.cause.id not in apart), None)


def _must_stand(finding: Finding) -> int:
    return SEEN if any(each.rule.seen for each in finding.evidence) else REASONED


def _take(attempt: Attempt, quantity: Quantity) -> None:
    """Read something, waiting for its moment of the defrost; what cannot be had is left."""
    clock = attempt.clock
    _be_there(attempt, quantity.id)
    for _ in range(2):
        try:
            _sure(attempt, partial(attempt.read, quantity))
        except ReadingError:
            if clock is None:
                return
            if clock.at_rest(quantity.id):
                attempt.wait(max(clock.over - attempt.minutes, 0.0))
            else:
                attempt.start_defrost()
        else:
            break
    if quantity.id in CURVES and clock is not None and not attempt.over:
        attempt.wait(AGAIN)
        with suppress(ReadingError):
            attempt.read(quantity)


def _stays_shut(attempt: Attempt, action: PlantAction) -> bool:
    """Whether an action is held back once what its gates rest on was read, as far as it can be.

    What would stop a rule of theirs is read too: an exception that nobody looked at is not ruled
    out.
    """
    wanted: dict[str, None] = {}
    for gate in attempt.rulebase.gates.values():
        for need in gate.needs if gate.action == action.gate else ():
            wanted |= dict.fromkeys(_asked_by(attempt, need))
    have = {each.quantity for each in attempt.readings}
    for name in wanted:
        quantity = attempt.rulebase.quantities[name]
        if not (name in have or name in attempt.not_here or quantity.given):
            _take(attempt, quantity)
    return bool(attempt.shut(action))


def _asked_by(
    attempt: Attempt, condition: Condition, seen: frozenset[str] = frozenset()
) -> Iterator[str]:
    """The quantities of a condition, those behind its signs and its worked-out values too.

    `seen` are the signs on the way, so that two that rest on one another come to an end.
    """
    for part in parts(condition):
        for name in quantities_in(part):
            yield from _read_for(attempt, name)
    for sign in {*signs_in(condition)} - seen:
        for rule in attempt.rulebase.rules.values():
            if sign in rule.concludes:
                for each in (*rule.when, *rule.unless):
                    yield from _asked_by(attempt, each, seen | {sign})


def _read_for(attempt: Attempt, name: str) -> Iterator[str]:
    """What is read for a quantity: itself, or what it is worked out from."""
    derivation = attempt.rulebase.quantities[name].derivation
    if derivation is None:
        yield name
    for each in derivation.rests_on if derivation else ():
        yield from _read_for(attempt, each)


def _be_there(attempt: Attempt, quantity: str) -> None:
    """Wait for the end of the defrost where the coil is looked at: what is on it then tells."""
    if attempt.clock is None or quantity != COIL:
        return
    if attempt.clock.began is None:
        attempt.start_defrost()
    if (left := attempt.clock.ends - attempt.minutes) > 0:
        attempt.wait(left)


def _do(attempt: Attempt, action: PlantAction) -> None:
    """Prepare, do it, and put back what was prepared."""
    actions = attempt.setting.actions
    for name in action.needs:
        if name not in attempt.holds:
            _sure(attempt, partial(attempt.act, actions[name]))
    _sure(attempt, partial(attempt.act, action))
    for each in actions.values():
        if not attempt.over and set(each.ends) & attempt.holds:
            _sure(attempt, partial(attempt.act, each))


def _sure(attempt: Attempt, do: Callable[[], object]) -> None:
    """Do something, each caution before it seen to."""
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
    def unproven(self) -> int:
        """Actions that were taken before their gates were open."""
        return sum(each.unproven for each in self.played)

    @property
    def readings(self) -> float:
        """Readings an exercise took on average."""
        return sum(each.readings for each in self.played) / max(len(self.played), 1)

    @property
    def minutes(self) -> float:
        """Minutes an exercise took on average, repairs and ways included."""
        return sum(each.minutes for each in self.played) / max(len(self.played), 1)

    def lines(self) -> Iterator[str]:
        """The figures, one a line."""
        n = len(self.played)
        yield f"{n} exercises played by the tool"
        yield f"named right at first: {self.right} of {n}"
        yield f"cured: {self.cured} of {n}"
        yield f"held back by a gate: {sum(bool(each.held_back) for each in self.played)}"
        yield f"dangerous actions: {self.dangerous}"
        yield f"actions before their gates were open: {self.unproven}"
        yield f"readings an exercise: {self.readings:.1f}; minutes: {self.minutes:.0f}"

    def document(self, rulebase: str) -> dict[str, object]:
        """The same as a document, with each exercise."""
        return {
            "rulebase": rulebase, "played": len(self.played), "right_at_first": self.right,
            "cured": self.cured, "dangerous": self.dangerous, "unproven": self.unproven,
            "readings": round(self.readings, 2), "minutes": round(self.minutes, 1),
            "exercises": [
                {"id": e.exercise, "said": list(e.said), "right_at_first": e.first_right,
                 "cured": e.cured, "readings": e.readings, "minutes": round(e.minutes, 1),
                 "stopped": e.stopped, "held_back": e.held_back}
                for e in self.played
            ],
        }  # fmt: skip
