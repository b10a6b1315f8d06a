from __future__ import annotations

from pathlib import Path

import pytest
from procedure_drive import StandingClock, answer, finish, go_to

from expert.errors import ReadingError
from expert.procedure.entries import from_json, to_json
from expert.procedure.picture import fold
from expert.procedure.runner import Runner
from expert.procedure.session import Session


def test_back_reopens_the_step_before_with_its_answer_as_default(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    session.back()
    assert session.current is not None
    assert session.current.key == "liquid-header-pressure"
    assert session.default() == "198 psig"


def test_back_can_be_repeated_and_enter_goes_forward_again(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    session.back()
    session.back()
    assert session.current is not None
    assert session.current.key == "hot-gas-header-pressure"
    answer(session, "")
    answer(session, "")
    assert session.current.key == "hot-gas-valve"
    assert [reading.text for reading in session.picture.readings] == ["206", "198 psig"]


def test_a_kept_answer_keeps_its_own_time(session: Session, clock: StandingClock) -> None:
    go_to(session, "hot-gas-valve")
    taken = clock.time
    clock.pass_minutes(90)
    session.back()
    answer(session, "")
    assert session.picture.readings[-1].at == taken


def test_a_reopened_reading_is_unknown_until_it_is_answered(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    session.back()
    assert "liquid_header_pressure" not in session.evaluation().known


def test_a_correction_keeps_both_in_the_history(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    session.back()
    answer(session, "189 psig")
    kinds = [entry.kind for entry in session.picture.history("liquid-header-pressure")]
    assert kinds == ["answer", "reopen", "answer"]
    assert [reading.text for reading in session.picture.readings] == ["206", "189 psig"]


def test_back_from_the_end_reopens_the_last_step(session: Session) -> None:
    finish(session)
    session.back()
    assert session.current is not None
    assert session.current.key == "sign"
    assert session.default() == ""  # a name is typed each time


def test_back_at_the_first_step_is_refused(session: Session) -> None:
    with pytest.raises(ReadingError, match="first step"):
        session.back()


def test_a_reopened_caution_needs_yes_again(session: Session) -> None:
    go_to(session, "hold-off")
    session.back()
    assert session.default() == ""
    with pytest.raises(ReadingError):
        session.answer("")


def test_only_a_closed_step_can_be_reopened(session: Session) -> None:
    with pytest.raises(ReadingError, match="not closed"):
        session.reopen("sign")


def test_a_job_read_back_from_its_lines_goes_on_at_the_same_step(
    runner: Runner, session: Session
) -> None:
    go_to(session, "clearing#1.defrost_state")
    again = fold(from_json(to_json(entry)) for entry in session.picture.entries)
    assert again == session.picture
    assert runner.current(again) == session.current


def test_a_skip_needs_a_reason(session: Session) -> None:
    go_to(session, "hot-gas-header-pressure")
    for text in ("", "  ", "na", "x"):
        with pytest.raises(ReadingError, match="reason"):
            session.skip(text)


def test_a_skipped_reading_stays_unknown_and_is_listed(session: Session) -> None:
    go_to(session, "hot-gas-header-pressure")
    session.skip("no access port")
    assert "hot_gas_header_pressure" not in session.evaluation().known
    assert [entry.text("reason") for entry in session.picture.skips] == ["no access port"]


def test_a_skipped_step_can_be_answered_later(session: Session) -> None:
    go_to(session, "hot-gas-header-pressure")
    session.skip("no access port")
    session.back()
    answer(session, "206")
    assert session.picture.skips == ()
    assert "hot_gas_header_pressure" in session.evaluation().known


def test_signing_is_never_skipped(session: Session) -> None:
    go_to(session, "sign")
    with pytest.raises(ReadingError, match="cannot be skipped"):
        session.skip("in a hurry")


def test_notes_photos_stop_and_resume_close_nothing(session: Session, tmp_path: Path) -> None:
    go_to(session, "hold-off")
    session.note("the door was open")
    (tmp_path / "coil.jpg").write_bytes(b"\xff\xd8\xff\xe0 and more")
    session.photo("coil.jpg", folder=tmp_path)
    session.stop()
    session.resume()
    assert session.current is not None
    assert session.current.key == "hold-off"
    assert [entry.text("text") for entry in session.picture.notes] == ["the door was open"]
    assert [entry.step for entry in session.picture.photos] == ["hold-off"]
