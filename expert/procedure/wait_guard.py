"""A wait is a wait: what is answered before its time is asked about."""

from __future__ import annotations

from datetime import datetime

from expert.errors import ReadingError
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.reading_time import when_read, without_time
from expert.procedure.runner import Runner
from expert.procedure.step_clock import Elapsed
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

_SLACK = 60.0  # s by which a typed time may differ from the clock (own choice)


def too_early(runner: Runner, picture: Picture, active: Active, text: str, now: datetime) -> str:
    """Why an answer cannot be yet, by the clock of its step; nothing where it can."""
    clock = runner.elapsed(picture, active, now)
    if clock is None:
        return ""
    if active.step.after:
        _, time = without_time(text)
        try:
            moment = when_read(time, now, clock.started) if time else now
        except ReadingError:
            return ""
        if early := not_yet(active, clock, moment):
            return early
    if active.step.type == "time" and text.strip() and not text.strip().startswith("at "):
        try:
            typed = parse_measure(text, Kind.DURATION, system=runner.system).value
        except ReadingError:
            return ""
        if typed > clock.seconds + _SLACK:
            return (
                f"The clock '{clock.clock}' shows {clock_text(clock.seconds)}, and "
                f"{clock_text(typed)} was typed."
            )
    return ""


def not_yet(active: Active, clock: Elapsed, moment: datetime) -> str:
    """Why a step that waits cannot be answered at a moment; nothing where it can."""
    passed = (moment - clock.started).total_seconds()
    if passed >= active.step.after - 1:
        return ""
    on = f" on the clock '{clock.clock}'" if clock.clock else ""
    return f"Only {clock_text(passed)} of {clock_text(active.step.after)} have passed{on}."


def clock_text(seconds: float) -> str:
    """'3:20', '1:03:20'."""
    minutes, rest = divmod(int(max(seconds, 0)), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{rest:02}" if hours else f"{minutes}:{rest:02}"
