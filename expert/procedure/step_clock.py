"""The clock that a step reads, and when a sample of a watch is due."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import takewhile

from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.picture import Picture


@dataclass(frozen=True)
class Elapsed:
    """A running clock as a step sees it."""

    clock: str
    started: datetime
    seconds: float


def elapsed(
    plan: Sequence[Active], picture: Picture, active: Active, now: datetime
) -> Elapsed | None:
    """The clock of a step, from the nearest start of that name above it in the plan."""
    if not active.step.clock:
        return _since(plan, active, now)
    started: datetime | None = None
    for each in _clocks_for(plan, active):
        if (entry := picture.before(each.key)) is not None:
            started = entry.time("started")
    if started is None:
        return None
    return Elapsed(active.step.clock, started, max((now - started).total_seconds(), 0.0))


def last_started(plan: Sequence[Active], active: Active) -> datetime | None:
    """When the last clock above a step was started, where one was."""
    above = takewhile(lambda each: each.key != active.key, plan)
    found = None
    for each in above:
        near = each.call == active.call and each.subject in ("", active.subject)
        if near and each.step.type == "clock" and each.entry is not None:
            found = each.entry.time("started") or found
    return found


def _since(plan: Sequence[Active], active: Active, now: datetime) -> Elapsed | None:
    """The time since the step was done that a step waits for, the nearest one above it."""
    if not active.step.since:
        return None
    above = takewhile(lambda each: each.key != active.key, plan)
    done = [
        each.entry
        for each in above
        if each.step.id == active.step.since and each.subject in ("", active.subject) and each.entry
    ]
    if not done or done[-1].kind == "skip":
        return None
    started = done[-1].time("taken") or done[-1].at
    return Elapsed("", started, max((now - started).total_seconds(), 0.0))


def _clocks_for(plan: Sequence[Active], active: Active) -> Iterator[Active]:
    if active.step.type == "clock":
        yield active
        return
    for each in takewhile(lambda each: each.key != active.key, plan):
        near = each.call == active.call and each.subject in ("", active.subject)
        if near and each.step.type == "clock" and each.step.clock == active.step.clock:
            yield each


def due(active: Active, clock: Elapsed | None) -> datetime | None:
    """When a step is due where its clock runs: a sample of a watch, what comes after a wait."""
    if clock is not None and active.step.after:
        return clock.started + timedelta(seconds=active.step.after)
    if clock is None or not active.step.every or not active.sample:
        return None
    return clock.started + timedelta(seconds=active.step.every * active.sample)
