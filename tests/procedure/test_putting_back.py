from __future__ import annotations

from collections.abc import Callable

import pytest
from memory_log import MemoryLog
from procedure_drive import StandingClock, answer, finish, go_to, keys

from expert.errors import ReadingError
from expert.procedure.runner import Runner
from expert.procedure.session import Session

IN_A_ROUND = """
    - id: two
      title: Two
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 2}
      steps:
        - instruct: Close the hand valve.
          id: close-valve
          opens: hand valve closed
        - observe: hot_gas_valve
        - restore: hand valve closed
    - id: close
      title: Close
      stage: as left
      steps:
        - sign: Name
"""


def test_what_was_opened_is_asked_to_be_put_back(session: Session) -> None:
    go_to(session, "hot-gas-header-pressure")
    assert session.picture.still_open == ("schedule held off",)
    go_to(session, "restore-schedule-held-off")
    answer(session, "done")
    assert session.picture.still_open == ()


def test_what_was_not_opened_is_not_asked_to_be_put_back(runner: Runner, session: Session) -> None:
    go_to(session, "hold-off")
    session.skip("no schedule here")
    assert "restore-schedule-held-off" not in keys(runner, session)
    finish(session)
    assert session.finished


def test_opening_again_asks_again_to_put_back(session: Session) -> None:
    go_to(session, "sign")
    session.reopen("hold-off")
    answer(session, "done")
    assert session.current is not None
    assert session.current.key == "restore-schedule-held-off"


def test_skipping_what_was_already_opened_does_not_forget_it(session: Session) -> None:
    go_to(session, "hot-gas-header-pressure")
    session.back()
    session.skip("not needed after all")
    go_to(session, "restore-schedule-held-off")
    assert session.picture.still_open == ("schedule held off",)


def test_signing_is_refused_while_something_is_open(runner: Runner, session: Session) -> None:
    go_to(session, "frost-pattern")
    sign = next(a for a in runner.plan(session.picture) if a.step.type == "sign")
    with pytest.raises(ReadingError, match="schedule held off"):
        runner.accept(session.picture, sign, "N. N.", session.now())


def test_a_signature_is_asked_again_after_a_change(runner: Runner, session: Session) -> None:
    finish(session)
    assert runner.signed_by(session.picture) == "N. N."
    session.reopen("hot-gas-valve")
    assert runner.signed_by(session.picture) == ""
    answer(session, "open")
    assert session.current is not None
    assert session.current.key == "sign"


def test_what_is_opened_in_a_round_is_put_back_in_it(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    session = Session(make_runner(IN_A_ROUND), MemoryLog(), "job", now=clock)
    for text in ("yes", "done", "open", "done", "yes", "done"):
        answer(session, text)
    assert session.current is not None
    assert session.current.key == "hot-gas-valve@2"
    answer(session, "open")
    assert session.current.key == "restore-hand-valve-closed@2"


def test_what_was_opened_in_a_round_taken_back_is_still_put_back(
    make_runner: Callable[[str], Runner], clock: StandingClock
) -> None:
    runner = make_runner(IN_A_ROUND)
    session = Session(runner, MemoryLog(), "job", now=clock)
    answer(session, "yes")
    answer(session, "done")
    session.reopen("two?1")
    answer(session, "no")
    assert session.current is not None
    assert session.current.key == "restore-hand-valve-closed@0"
    answer(session, "done")
    assert session.current.key == "sign"
    answer(session, "N. N.")
    assert session.finished
