"""Helps tests to drive a session."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from expert.procedure.answering import Accepted, NeedsConfirmation
from expert.procedure.runner import Runner
from expert.procedure.session import Session

# What a technician might type at each step of the small checklist.
TYPED = {
    "hot-surfaces": "yes",
    "hold-off": "done",
    "hot-gas-header-pressure": "206",
    "liquid-header-pressure": "198 psig",
    "hot-gas-valve": "open",
    "coil-voltage": "24",
    "pilot-line": "",
    "clock-defrost": "",
    "clearing.circuit_pressure": "150",
    "clearing.defrost_state": "ended by temp",
    "clearing-time": "18 min",
    "show-defrost-differential": "",
    "think": "",
    "prove": "no",
    "gloves-again": "y",
    "one-thing": "regulator stem; 0 turns; 1 turn in",
    "hot-gas-again": "216",
    "liquid-again": "199",
    "frost-pattern": "clear of frost",
    "restore-schedule-held-off": "done",
    "sign": "N. N.",
    "checkout": "",
    "each": "A1, A3",
    "gloves": "y",
    "probe-in": "",
    "case-air": "10 F",
    "tell": "",
    "restore-probe-in-the-case": "",
}


class StandingClock:
    """A time of day that stands until it is moved."""

    def __init__(self) -> None:
        self.time = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.time

    def pass_minutes(self, minutes: float) -> None:
        self.time += timedelta(minutes=minutes)


def usual(session: Session) -> str:
    """What would usually be typed at the current step."""
    active = session.current
    assert active is not None
    name = active.step.id.rpartition("/")[2]
    return TYPED[f"{name}.{active.quantity}" if active.sample else name]


def answer(session: Session, text: str | None = None) -> Accepted:
    """Answer the current step, as usual unless told otherwise; unusual values are confirmed."""
    typed = usual(session) if text is None else text
    outcome = session.answer(typed)
    if isinstance(outcome, NeedsConfirmation):
        outcome = session.answer(typed, sure=True)
    assert isinstance(outcome, Accepted)
    return outcome


def go_to(session: Session, key: str, **instead: str) -> None:
    """Answer as usual until a step is current; `instead` gives other texts by id with _ for -."""
    others = {name.replace("_", "-"): text for name, text in instead.items()}
    while (active := session.current) is not None and active.key != key:
        answer(session, others.get(active.step.id.rpartition("/")[2]))
    assert session.current is not None, f"{key} never came"


def finish(session: Session, **instead: str) -> None:
    """Answer as usual until the checklist is finished."""
    others = {name.replace("_", "-"): text for name, text in instead.items()}
    while (active := session.current) is not None:
        answer(session, others.get(active.step.id.rpartition("/")[2]))


def keys(runner: Runner, session: Session) -> list[str]:
    """The keys of the plan."""
    return [active.key for active in runner.plan(session.picture)]
