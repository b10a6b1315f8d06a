from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, go_to

from expert.errors import PackError, ReadingError
from expert.procedure.runner import Runner
from expert.procedure.session import Session


def test_a_time_step_offers_the_time_since_its_clock_was_started(
    session: Session, clock: StandingClock
) -> None:
    go_to(session, "clock-defrost")
    answer(session, "")
    clock.pass_minutes(12.5)
    go_to(session, "clearing-time")
    assert session.default() == "12.5 min"
    answer(session, "")
    assert session.picture.readings[-1].value.value == 750  # type: ignore[union-attr]


def test_a_clock_survives_a_restart(runner: Runner, session: Session, clock: StandingClock) -> None:
    go_to(session, "clearing-time")
    clock.pass_minutes(25)
    again = Session(runner, MemoryLog(), "job", session.picture.entries, now=clock)
    assert again.default() == "25.0 min"
    assert again.picture.clocks["defrost"] == clock.time - timedelta(minutes=25)


def test_going_back_over_a_clock_does_not_restart_it(
    session: Session, clock: StandingClock
) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    started = clock.time
    clock.pass_minutes(5)
    session.back()
    assert session.default() == "5.0 min ago"
    answer(session, "")
    assert session.picture.clocks["defrost"] == started


def test_a_clock_can_be_started_again(session: Session, clock: StandingClock) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    clock.pass_minutes(5)
    session.back()
    answer(session, "now")
    assert session.picture.clocks["defrost"] == clock.time


def test_a_clock_can_be_started_some_time_ago(session: Session, clock: StandingClock) -> None:
    go_to(session, "clock-defrost")
    answer(session, "3 min ago")
    assert session.picture.clocks["defrost"] == clock.time - timedelta(minutes=3)


@pytest.mark.parametrize("text", ["-3 min", "soon"])
def test_a_clock_is_not_started_at_another_time(session: Session, text: str) -> None:
    go_to(session, "clock-defrost")
    with pytest.raises(ReadingError):
        session.answer(text)


def test_without_its_clock_a_time_step_offers_nothing(session: Session) -> None:
    go_to(session, "clock-defrost")
    session.skip("came too late")
    go_to(session, "clearing-time")
    assert session.default() == ""
    with pytest.raises(ReadingError):
        session.answer("")


def test_a_time_that_cannot_be_is_refused_even_when_the_clock_offers_it(
    session: Session, clock: StandingClock
) -> None:
    go_to(session, "clearing-time")
    clock.pass_minutes(60 * 24)
    with pytest.raises(ReadingError, match="180"):
        session.answer("")


def test_a_sample_says_when_it_is_due_and_when_it_was_taken(
    runner: Runner, session: Session, clock: StandingClock
) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    assert session.current is not None
    due = runner.due(session.picture, session.current, clock.time)
    assert due == clock.time + timedelta(minutes=2)
    clock.pass_minutes(2.25)
    answer(session, "150")
    assert session.picture.entries[-1].data["at_minute"] == 2.25


def test_a_sample_can_be_given_with_its_minute(session: Session, clock: StandingClock) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    session.answer("150", minute=4)
    assert session.picture.readings[-1].at == clock.time + timedelta(minutes=4)


WAITS = """
    - id: found
      title: As found
      stage: as found
      steps:
        - instruct: Open it wide.
          id: open-it
        - ask: coil_voltage
          since: open-it
          after: 3 min
        - observe: hot_gas_valve
        - sign: Name of the technician
"""


def test_a_wait_counts_from_the_step_that_is_waited_for(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    session = Session(make_runner(WAITS), MemoryLog(), "job", now=clock)
    session.answer("")
    clock.pass_minutes(1)
    assert session.too_early("24") == "Only 1:00 of 3:00 have passed."
    with pytest.raises(ReadingError, match="why it is answered before its time"):
        session.answer("24", why="t")
    clock.pass_minutes(2)
    assert session.too_early("24") == ""


def test_a_wait_of_a_step_that_was_skipped_holds_nobody(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    session = Session(make_runner(WAITS), MemoryLog(), "job", now=clock)
    session.skip("open already")
    assert session.too_early("24") == ""


@pytest.mark.parametrize("time", ["", " 4 min ago", " 2 min ago"])
def test_a_reading_typed_by_name_before_its_time_is_asked_and_kept_as_such(
    time: str, make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    session = Session(make_runner(WAITS), MemoryLog(), "job", now=clock)
    session.answer("")
    clock.pass_minutes(5 if time else 1)
    took = session.take(f"coil voltage 24{time}")
    assert took is not None
    if time == " 4 min ago" or not time:
        assert took.question.startswith("Only 1:00 of 3:00 have passed.")
    else:  # read at three minutes
        assert not took.question
        return
    assert "coil-voltage" not in session.picture.closed
    session.take(f"coil voltage 24{time}", sure=True)
    assert session.picture.closed["coil-voltage"].data["early"]
    assert any("Before its time" in each.text("text") for each in session.picture.notes)


@pytest.mark.parametrize(
    ("step", "says"),
    [
        ("since: open-up\n          after: 3 min", "There is no step 'open-up'"),
        ("since: open-it", "'since:' says from which step 'after:' counts"),
        ("after: 3 min", "'since: STEP'"),
    ],
)
def test_a_wait_for_nothing_is_refused_as_it_is_read(
    step: str, says: str, make_runner: Callable[[str], Runner]
) -> None:
    with pytest.raises(PackError, match=says):
        make_runner(WAITS.replace("since: open-it\n          after: 3 min", step))
