from __future__ import annotations

from collections.abc import Callable

from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, finish, go_to, keys

from expert.procedure.runner import Runner
from expert.procedure.session import Session


def test_the_first_step_is_the_first_of_the_checklist(session: Session) -> None:
    assert session.current is not None
    assert session.current.key == "hot-surfaces"


def test_a_step_whose_condition_is_unknown_does_not_appear(
    runner: Runner, session: Session
) -> None:
    assert "coil-voltage" not in keys(runner, session)


def test_a_step_appears_when_its_condition_becomes_true(runner: Runner, session: Session) -> None:
    go_to(session, "hot-gas-valve")
    answer(session, "shut")
    assert session.current is not None
    assert session.current.key == "coil-voltage"


def test_a_step_appears_when_a_sign_is_concluded(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    answer(session, "open")
    assert session.current is not None
    assert session.current.key == "pilot-line"


def test_a_step_does_not_appear_when_its_sign_is_not_concluded(
    runner: Runner, session: Session
) -> None:
    go_to(session, "clock-defrost", hot_gas_header_pressure="216")
    assert "pilot-line" not in keys(runner, session)


def test_changing_an_answer_drops_the_steps_that_no_longer_apply(
    runner: Runner, session: Session
) -> None:
    go_to(session, "clock-defrost", hot_gas_valve="shut")
    session.reopen("hot-gas-valve")
    answer(session, "open")
    assert "coil-voltage" not in keys(runner, session)
    assert [reading.quantity for reading in runner.set_aside(session.picture)] == ["coil_voltage"]
    assert "coil_voltage" not in session.evaluation().known


def test_a_dropped_answer_is_back_when_its_step_applies_again(
    runner: Runner, session: Session
) -> None:
    go_to(session, "clock-defrost", hot_gas_valve="shut")
    for text in ("open", "shut"):
        session.reopen("hot-gas-valve")
        answer(session, text)
    assert session.current is not None
    assert session.current.key == "clock-defrost"
    assert session.evaluation().known["coil_voltage"].value.value == 24  # type: ignore[union-attr]


def test_a_later_answer_never_brings_back_an_earlier_step(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    runner = make_runner(
        """
    - id: one
      title: One
      stage: as found
      steps:
        - observe: hot_gas_valve
        - ask: coil_voltage
          unless: [hot_gas_valve is shut]
        - observe: hot_gas_valve
          id: valve-again
"""
    )
    session = Session(runner, MemoryLog(), "job", now=clock)
    for text in ("shut", "open"):
        answer(session, text)
    assert session.finished


def test_an_exception_hides_a_step_only_when_it_is_known_to_be_true(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    runner = make_runner(
        """
    - id: one
      title: One
      stage: as found
      steps:
        - observe: hot_gas_valve
        - ask: coil_voltage
          unless: [hot_gas_valve is shut]
"""
    )
    session = Session(runner, MemoryLog(), "job", now=clock)
    assert keys(runner, session) == ["hot-gas-valve", "coil-voltage"]
    session.skip("no access to the valve")
    assert keys(runner, session) == ["hot-gas-valve", "coil-voltage"]
    session.back()
    answer(session, "shut")
    assert keys(runner, session) == ["hot-gas-valve"]


def test_a_watch_goes_on_while_the_answer_is_the_first_choice(session: Session) -> None:
    go_to(session, "clearing#1.defrost_state")
    answer(session, "still running")
    assert session.current is not None
    assert session.current.key == "clearing#2.circuit_pressure"
    assert session.current.sample == 2


def test_a_watch_ends_with_another_choice(session: Session) -> None:
    go_to(session, "clearing#1.defrost_state")
    answer(session, "ended by time")
    assert session.current is not None
    assert session.current.key == "clearing-time"


def test_a_watch_ends_after_its_most_samples(session: Session) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    for _ in range(4):
        answer(session, "150")
        answer(session, "still running")
    assert session.current is not None
    assert session.current.key == "clearing-time"


def test_a_whole_watch_can_be_ended_with_a_reason_and_opened_again(session: Session) -> None:
    go_to(session, "clearing#1.defrost_state")
    answer(session, "still running")
    session.skip("the probe broke", rest=True)
    assert session.current is not None
    assert session.current.key == "clearing-time"
    session.back()
    assert session.current.key == "clearing#2.circuit_pressure"


def test_an_ended_watch_that_comes_to_its_own_end_needs_no_skip_any_more(
    runner: Runner, session: Session
) -> None:
    go_to(session, "clearing#1.defrost_state")
    answer(session, "still running")
    session.skip("the probe broke", rest=True)
    assert "clearing" in keys(runner, session)
    session.reopen("clearing#1.defrost_state")
    answer(session, "ended by time")
    assert "clearing" not in keys(runner, session)
    session.back()
    assert session.current is not None
    assert session.current.key == "clearing#1.defrost_state"


def test_every_sample_of_a_watch_is_a_reading(runner: Runner, session: Session) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    for text in ("100", "still running", "150", "ended by time"):
        answer(session, text)
    series = [r for r in runner.readings(session.picture) if r.quantity == "circuit_pressure"]
    assert [reading.text for reading in series] == ["100", "150"]


def test_a_watch_counts_as_one_step(session: Session) -> None:
    go_to(session, "clearing#1.circuit_pressure")
    assert session.current is not None
    number = session.current.number
    answer(session, "150")
    answer(session, "still running")
    assert session.current.number == number
    assert session.current.total >= number


def test_a_finished_checklist_has_no_current_step(session: Session) -> None:
    finish(session)
    assert session.finished
    assert session.current is None
