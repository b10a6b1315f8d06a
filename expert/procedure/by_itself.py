"""What needs no answer at working depth: values with nothing odd, a hazard answered just before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta

from expert.procedure.active import Active
from expert.procedure.entries import PASSED, Draft, Entry
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.screens import LEARNING
from expert.procedure.spots import moved, spot_of

OFF_NORMAL = ("very low", "low", "high", "very high")


def by_itself(runner: Runner, picture: Picture, active: Active, depth: str) -> Draft | None:
    """The entry that closes a step without a question; None where it must be asked."""
    if active.step.type == "clock" and active.step.starts_with:
        return _started(runner, picture, active)
    if depth == LEARNING or active.refused is not None:
        return None
    if active.step.type == "show" and not odd(runner, picture, active):
        return _done(active, "nothing odd")
    if active.step.type == "think" and not _anything_found(runner, picture, active):
        return _done(active, "nothing found")
    if active.step.type == "caution" and not active.quantity:
        return _answered_before(runner, picture, active)
    return None


def odd(runner: Runner, picture: Picture, active: Active) -> tuple[str, ...]:
    """Which of the values that a step shows are off normal."""
    states = runner.states(picture, active)
    return tuple(name for name in active.step.quantities if states(name) in OFF_NORMAL)


def _anything_found(runner: Runner, picture: Picture, active: Active) -> bool:
    where = active.stage, active.round
    own = runner.evaluation(picture, *where, active.subject).findings
    return bool(own) or any(found for _, found in runner.found_on_members(picture, *where))


def _done(active: Active, why: str) -> Draft:
    return Draft("done", active.key, {PASSED: why})


def _started(runner: Runner, picture: Picture, active: Active) -> Draft | None:
    """A clock that starts with what another one measured: drip begins when the gas goes off."""
    for each in runner.plan(picture):
        same = (each.subject, each.turn) == (active.subject, active.turn)
        if each.step.id != active.step.starts_with or not same or each.entry is None:
            continue
        clock = runner.elapsed(picture, each, each.entry.at)
        value = each.entry.data.get("value")
        if clock is not None and isinstance(value, int | float):
            started = clock.started + timedelta(seconds=float(value))
            data = {"clock": active.step.clock, "started": started.isoformat()}
            return Draft("clock", active.key, data)
    return None


def started_with(plan: Sequence[Active], key: str) -> tuple[Active, ...]:
    """The clocks that were started by what the step of a key measured."""
    step = next((each for each in plan if each.key == key), None)
    if step is None or step.step.type != "time":
        return ()
    where = step.subject, step.turn
    return tuple(
        each
        for each in plan
        if each.closed and each.step.starts_with == step.step.id
        and (each.subject, each.turn) == where
    )  # fmt: skip


def _answered_before(runner: Runner, picture: Picture, active: Active) -> Draft | None:
    """The yes of the same caution in the same visit, where nothing has changed since.

    Anything else in between ends it: another place, an adjustment, a clock, a round, a no.
    """
    spot = spot_of(active, runner.rulebase)
    before = list(_before(runner.plan(picture), active))
    for each in reversed(before):
        if (each.subject, each.turn, each.round) != (active.subject, active.turn, active.round):
            return None
        if each.step.type in ("adjust", "clock", "watch", "stop") or each.loop:
            return None
        if moved(spot_of(each, runner.rulebase), spot):
            return None
        if each.step.type == "caution" and each.step.text == active.step.text:
            return _same(each.entry, active)
    return None


def _before(plan: Sequence[Active], active: Active) -> Iterator[Active]:
    for each in plan:
        if each.key == active.key:
            return
        yield each


def _same(entry: Entry | None, active: Active) -> Draft | None:
    if entry is None or entry.kind != "acknowledge" or entry.refuses:
        return None
    data = {"caution": active.step.text, "answer": "yes", PASSED: f"answered at {entry.step}"}
    return Draft("acknowledge", active.key, data)
