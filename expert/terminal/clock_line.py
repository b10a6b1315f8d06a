"""The clock of a step in a few signs or words, and when the step is due."""

from __future__ import annotations

from datetime import datetime

from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.step_clock import Elapsed
from expert.procedure.wait_guard import clock_text


def clock_line(
    runner: Runner, picture: Picture, active: Active, now: datetime, *, words: bool = False
) -> str:
    """'3:20 next 4:00': the clock of a step or its phase, and when it is due."""
    if active.step.type == "clock":
        return ""
    elapsed = runner.elapsed(picture, active, now) or _of_phase(runner, picture, active, now)
    if elapsed is None:
        return ""
    so_far = clock_text(elapsed.seconds)
    due = runner.due(picture, active, now)
    if due is None:
        return f"{so_far} since the start" if words else so_far
    at_clock = clock_text((due - elapsed.started).total_seconds())
    if not words:
        return f"{so_far} next {at_clock}"
    late = (now - due).total_seconds()
    wait = "due now" if late >= 0 else f"due in {clock_text(-late)}"
    what = "this sample" if active.sample else "this"
    return f"{so_far} since the start; {what} at {at_clock}, {wait}"


def _of_phase(runner: Runner, picture: Picture, active: Active, now: datetime) -> Elapsed | None:
    """The clock started last in the phase, for steps such as 'three minutes after gas on'."""
    found: Elapsed | None = None
    if active.step.type not in ("ask", "observe", "instruct") or active.loop:
        return None
    for each in runner.plan(picture):
        if each.key == active.key:
            break
        near = each.phase is active.phase and each.member_key == active.member_key
        if near and each.step.type == "clock" and each.closed:
            found = runner.elapsed(picture, each, now)
    return found
