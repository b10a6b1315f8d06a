"""Two at one job: each is asked what is at their own place, as far as the order allows it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from expert.knowledge.conditions import quantities_in
from expert.knowledge.model import Rulebase
from expert.knowledge.where import MOTOR_ROOM, ROOMS
from expert.procedure.active import Active
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.entries import PASSED, Entry
from expert.procedure.open_now import Guarding, what_comes_first
from expert.procedure.spots import spot_of

# nothing is adjusted, put back or signed while somebody elsewhere still has to read
_LAST = ("adjust", "restore", "sign", CLOSE)
AT, BESIDE = "at", "beside"  # in the entry with which somebody comes to a job


def others_at(entries: Sequence[Entry], who: str) -> Mapping[str, str]:
    """The rooms where others have come to work on a job and not left it, with who each is.

    Somebody who comes without joining others is alone: what was left without a word has ended.
    """
    found: dict[str, tuple[str, ...]] = {}
    for entry in entries:
        if entry.kind == "resume" and not entry.data.get(BESIDE):
            found.clear()
        if entry.kind == "resume":
            rooms = entry.data.get(AT)
            found[entry.who] = tuple(map(str, rooms)) if isinstance(rooms, list) else ()
        elif entry.kind == "stop":
            found.pop(entry.who, None)
    return {room: name for name, rooms in found.items() if name != who for room in rooms}


def room_of(active: Active, rulebase: Rulebase) -> str:
    """The room in which a step is done; display and store are for who is in the motor room."""
    spot = spot_of(active, rulebase)
    return spot if spot in ROOMS else MOTOR_ROOM


def asked_in(plan: Sequence[Active], rooms: Collection[str], runner: Guarding) -> Active | None:
    """The first open step that is done in some rooms and waits for nothing that is done elsewhere.

    A caution of another room is asked here where a step here needs it. What a reading of another
    room decides is asked once that is known. None where the rest waits.
    """
    cautions: dict[str, Active] = {}
    unread, elsewhere = set[str](), False
    for active in plan:
        if active.closed:
            continue
        if room_of(active, runner.rulebase) not in rooms:
            elsewhere = True
            if active.step.type == "caution" and not active.quantity:
                cautions.setdefault(active.step.text, active)
            elif what_comes_first(active):
                return None
            unread.add(active.quantity)
            continue
        if elsewhere and (active.loop or active.step.type in _LAST):
            return None
        if unread & _decided_by(active):
            if what_comes_first(active):
                return None
            continue
        needed = runner.guards(active.step, active.subject) & {*cautions}
        return next((each for name, each in cautions.items() if name in needed), active)
    return None


def step_before(
    plan: Sequence[Active], active: Active | None, rooms: Collection[str], rulebase: Rulebase
) -> Active | None:
    """The last step above another, or of all (None), that somebody answered in some rooms."""
    before = None
    for each in plan:
        if active is not None and each.key == active.key:
            break
        passed = each.entry is None or each.entry.data.get(PASSED) or each.step.starts_with
        if not passed and room_of(each, rulebase) in rooms:
            before = each
    return before


def _decided_by(active: Active) -> set[str]:
    """The quantities that decide whether a step is needed, or whether a stop is passed."""
    conditions = (*active.step.when, *active.step.unless, *active.step.passed)
    return {name for each in conditions for name in quantities_in(each)}
