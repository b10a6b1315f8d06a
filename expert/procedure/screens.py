"""What is asked together: the hazards of a visit, looks that are usually so, things to be done.

Every part of a screen is answered and recorded as its own entry. What is not so is asked by
itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from expert.errors import ReadingError
from expert.knowledge import judge
from expert.knowledge.conditions import Condition, quantities_in
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.checklist import GO_ON
from expert.procedure.spots import moved, spot_of

DEPTHS = LEARNING, WORKING, BRIEF = ("learning", "working", "brief")
STEP, HAZARDS, LOOKS, DONE = KINDS = ("step", "hazards", "looks", "done")
# A pause has five to nine items; beyond that people shortcut: Degani and Wiener, NASA CR-177549.
MOST = {HAZARDS: 9, LOOKS: 10, DONE: 9}  # a case with doors has ten looks
_ENDS_A_VISIT = ("clock", "time", "watch", "adjust", "stop", "call", "members", "sign", "search")
_NUMBERS = re.compile(r"^[\d ,;+]+$")


@dataclass(frozen=True)
class Screen:
    """What is asked now: one step, or several that are answered in one line."""

    kind: str
    parts: tuple[Active, ...]

    @property
    def first(self) -> Active:
        """The step at which the checklist stands."""
        return self.parts[0]


@dataclass(frozen=True)
class Ticked:
    """The parts of a screen that are so, and those that are to be asked by themselves."""

    so: tuple[Active, ...]
    singly: tuple[Active, ...]


def screen_at(
    plan: Sequence[Active], current: Active, depth: str, singly: frozenset[str], rulebase: Rulebase
) -> Screen:
    """What is asked together with the current step at a depth; `singly` are keys that are not."""
    alone = Screen(STEP, (current,))
    kind = _kind(current)
    if depth == LEARNING or not kind or current.key in singly:
        return alone
    ahead = plan[[each.key for each in plan].index(current.key) :]
    spot = spot_of(current, rulebase)
    parts: list[Active] = []
    read = set[str]()
    for each in ahead:
        if moved(spot_of(each, rulebase), spot) or (kind == HAZARDS and each.step.opens):
            break  # a hazard is looked at again where one walks, and when something was opened
        same = (each.subject, each.turn) == (current.subject, current.turn)
        if each.closed:
            continue
        here = same and each.key not in singly
        conditions = (*each.step.when, *each.step.unless)
        if parts and conditions and _decided_by(read, conditions, rulebase):
            continue  # what is read on the way decides whether it is needed
        if kind == HAZARDS and each.quantity:
            read.add(each.quantity)
        if kind == LOOKS and same and _decides(each, parts):
            continue
        if kind == LOOKS and same and _is_read(each):
            read.add(each.quantity)  # looks come before what is measured at the same place
            continue
        if _kind(each) == kind and here and (kind != HAZARDS or _other(each, parts)):
            parts.append(each)
        elif kind != HAZARDS or _ends_a_visit(each) or not same:
            break
        if len(parts) == MOST[kind]:
            break
    return Screen(kind, tuple(parts)) if len(parts) > 1 else alone


def ticked(screen: Screen, text: str) -> Ticked:
    """What a line says of a screen. Raises ReadingError.

    Of hazards the number of each that is so is typed: Enter or a yes for all would answer none of
    them. Elsewhere Enter says that all is as listed, and the numbers are those that are not.
    """
    count = len(screen.parts)
    typed = " ".join(text.split())
    if screen.kind != HAZARDS and typed.lower() in ("", *judge.DONE_WORDS):
        return Ticked(screen.parts, ())
    if not _NUMBERS.match(typed):
        raise ReadingError(expected(screen, typed))
    apart = re.split(r"[ ,;+]+", typed.strip(" ,;+"))
    numbers = {int(each) for word in apart for each in ([word] if count > 9 else word)}
    if not numbers <= {*range(1, count + 1)}:
        raise ReadingError(expected(screen, typed))
    named = tuple(each for n, each in enumerate(screen.parts, 1) if n in numbers)
    others = tuple(each for each in screen.parts if each not in named)
    if screen.kind == HAZARDS:
        return Ticked(named, others)
    return Ticked(tuple(each for each in others if not _hangs_on(each, named)), named)


def expected(screen: Screen, typed: str = "") -> str:
    """A sentence that says what is accepted at a screen."""
    count = len(screen.parts)
    begins = f"'{typed}' is no answer here. " if typed else ""
    if screen.kind == HAZARDS:
        every = "".join(map(str, range(1, count + 1)))
        return (
            f"{begins}Type the number of each that is so, '{every}' when all are; "
            "the others are asked one by one."
        )
    what = "is not so" if screen.kind == LOOKS else "is not done"
    return f"{begins}Press Enter when all are; or type the number of what {what}."


def _kind(active: Active) -> str:
    step = active.step
    if step.type == "caution" and not active.quantity:
        return HAZARDS
    if step.type == "observe" and step.usual and not step.clock:
        return LOOKS
    plain = step.type == "instruct" and not step.protects and not step.clock
    return DONE if plain or step.type == "restore" else ""


def _is_read(active: Active) -> bool:
    """Whether a step is a reading or a look by itself, or values that are shown."""
    step = active.step
    looked = step.type == "observe" and not step.usual and not active.loop
    return step.type == "show" or ((step.type == "ask" or looked) and not step.clock)


def _decides(active: Active, parts: Sequence[Active]) -> bool:
    """Whether a step is a stop that may be passed and that the looks of a screen decide."""
    names = {name for each in active.step.passed for name in quantities_in(each)}
    stops = active.step.type == "stop" and active.step.otherwise == GO_ON
    return stops and names <= {each.quantity for each in parts}


def _decided_by(read: set[str], conditions: Iterable[Condition], rulebase: Rulebase) -> bool:
    """Whether conditions hang on readings that are still to be taken, or on what they give."""
    names = {name for each in conditions for name in quantities_in(each)}
    derived = any(rulebase.quantities[name].derivation is not None for name in names)
    return bool(read) and (derived or bool(names & read))


def _hangs_on(active: Active, others: Sequence[Active]) -> bool:
    """Whether it is decided by one of some other steps whether a step is asked at all."""
    quantities = {each.quantity for each in others if each.quantity}
    conditions = (*active.step.when, *active.step.unless)
    return any(quantities & {*quantities_in(each)} for each in conditions)


def _ends_a_visit(active: Active) -> bool:
    """Whether something happens here after which hazards are looked at anew."""
    waits = active.step.type == "stop" and active.step.otherwise == GO_ON
    return active.loop or (active.step.type in _ENDS_A_VISIT and not waits)


def _other(active: Active, parts: Sequence[Active]) -> bool:
    """Whether no part of a screen of hazards is the same caution."""
    return all(each.step.text != active.step.text for each in parts)
