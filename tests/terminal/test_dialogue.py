"""The dialogue with a front end that types a list of lines."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest
from terminal_help import WALK, ShownJob, TypedFront

from expert.errors import RackwalkError
from expert.procedure.entries import Entry
from expert.store.store_errors import StoreError
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import Question


def _run(job: ShownJob, lines: Iterable[str], columns: int = 80) -> TypedFront:
    front = TypedFront(lines, columns)
    Dialogue(job.session, job.texts, front).run()
    return front


def _kinds(job: ShownJob) -> list[str]:
    return [entry.kind for entry in job.log.entries]


def test_the_whole_checklist_can_be_walked(job: ShownJob) -> None:
    front = TypedFront(WALK)
    assert Dialogue(job.session, job.texts, front).run()
    assert job.session.finished
    assert not front.lines
    assert job.log.finished[-1] is not None


def test_leaving_is_noted_and_the_step_stays(job: ShownJob) -> None:
    front = TypedFront(["y", "q"])
    assert not Dialogue(job.session, job.texts, front).run()
    assert _kinds(job) == ["acknowledge", "stop"]
    assert job.key == "hold-off"


def test_a_refused_value_is_answered_with_what_was_wrong_and_nothing_is_lost(job: ShownJob) -> None:
    front = _run(job, ["y", "", "198 pisg", "900 psig", "198 psig"])
    assert "'198 pisg': the unit 'pisg' is not known. Did you mean 'psig'?" in front.text
    assert "900.0 psig cannot be: it is above 600.0 psig." in front.text
    assert _kinds(job) == ["acknowledge", "done", "answer", "stop"]
    assert front.text.count("Step 3 of") == 1


def test_an_unusual_value_is_asked_about_and_kept_on_yes(job: ShownJob) -> None:
    front = _run(job, ["y", "", "400", "y"])
    assert "400.0 psig is above 350.0 psig" in front.text
    assert job.log.entries[-2].data["text"] == "400"
    assert job.key == "lower-pressure"


def test_on_no_the_step_is_asked_again(job: ShownJob) -> None:
    front = _run(job, ["y", "", "400", "n"])
    assert "Step 3: Upper header pressure" in front.text
    assert job.key == "upper-pressure"


@pytest.mark.parametrize("inside", [["s"], ["n"], ["p"], ["c"], ["x"], ["400"]])
def test_letters_work_inside_of_every_question(job: ShownJob, inside: list[str]) -> None:
    front = _run(job, ["y", "", *inside, "?", "q", "190"])
    assert front.lines == ["190"]
    assert job.key == "upper-pressure"


def test_the_right_value_may_be_typed_at_the_second_question(job: ShownJob) -> None:
    _run(job, ["y", "", "400", "200"])
    assert job.log.entries[-2].data["text"] == "200"


def test_a_caution_answered_with_no_stays_and_says_what_to_do(job: ShownJob) -> None:
    front = _run(job, ["n"])
    assert "Stop here." in front.text
    assert job.key == "hot"


def test_back_reopens_the_step_before_and_enter_keeps_its_answer(job: ShownJob) -> None:
    front = _run(job, ["y", "", "190", "b", "", "182"])
    assert "Enter alone gives: 190" in front.text
    assert job.session.picture.closed["upper-pressure"].data["text"] == "190"
    assert job.key == "valve"


def test_back_at_the_first_step_says_so(job: ShownJob) -> None:
    assert "This is the first step." in _run(job, ["b"]).text


def test_a_step_is_skipped_only_with_a_reason(job: ShownJob) -> None:
    front = _run(job, ["y", "", "s", "no port there"])
    assert job.log.entries[-2].data["reason"] == "no port there"
    assert "Skipped." in front.text


def test_enter_instead_of_a_reason_goes_back_to_the_step(job: ShownJob) -> None:
    _run(job, ["y", "", "s", ""])
    assert _kinds(job) == ["acknowledge", "done", "stop"]


@pytest.mark.parametrize("typed", [["s", "no gloves here"], ["n", "no gloves here"]])
def test_a_no_at_a_caution_asks_why_and_leaves_out_what_it_guards(
    job: ShownJob, typed: list[str]
) -> None:
    front = _run(job, typed)
    assert "Noted; what hangs on it is left out." in front.text
    assert [each.text("reason") for each in job.session.picture.refused] == ["no gloves here"]
    assert job.key != "hot"


def test_a_no_without_a_reason_goes_back_to_the_caution(job: ShownJob) -> None:
    _run(job, ["n", ""])
    assert job.key == "hot"
    assert job.session.picture.refused == ()


def test_a_job_is_closed_undone_from_any_step(job: ShownJob) -> None:
    front = _run(job, ["y", "", "x", "2: a valve"])
    assert "1 not recovering: what is still wrong" in " ".join(front.text.split())
    closed = job.session.picture.closed_as
    assert closed is not None
    assert (closed.text("state"), closed.text("detail")) == ("waiting for a part", "a valve")
    assert job.key not in ("upper-pressure", "valve")


def test_the_rest_of_a_watch_can_be_skipped(job: ShownJob) -> None:
    _run(job, [*WALK[:6], "20 F", "1", "s", "2", "it ended early"])
    assert job.key == "clearing-time"


def test_one_value_of_a_watch_can_be_skipped(job: ShownJob) -> None:
    _run(job, [*WALK[:6], "s", "1", "probe fell off"])
    assert job.key == "clearing#1.coil_state"


def test_a_note_is_kept_at_the_step(job: ShownJob) -> None:
    _run(job, ["y", "", "n", "cap was missing"])
    note = job.log.entries[-2]
    assert (note.kind, note.step) == ("note", "upper-pressure")
    assert note.data["text"] == "cap was missing"


def test_photos_are_kept_at_the_step_with_one_caption(job: ShownJob, tmp_path: Path) -> None:
    for name in ("plate.jpg", "frost.jpg"):
        (tmp_path / name).write_bytes(b"\xff\xd8\xff\xe0 " + name.encode())
    (tmp_path / "text.jpg").write_text("no picture", encoding="utf-8")
    two = f"{tmp_path / 'plate.jpg'}; {tmp_path / 'frost.jpg'}"
    front = _run(job, ["y", "", "p", str(tmp_path / "text.jpg"), "p", two, "before cleaning"])
    assert "is no picture that a report can show" in " ".join(front.text.split())
    assert "2 photos are noted." in front.text
    photos = job.session.picture.photos
    assert [photo.step for photo in photos] == ["upper-pressure"] * 2
    assert {photo.text("caption") for photo in photos} == {"before cleaning"}


def test_thoughts_may_be_asked_for_at_any_step(job: ShownJob) -> None:
    front = _run(job, ["y", "", "190", "182", "t"])
    assert "1 Regulator set too low: likely" in front.text


def test_the_list_marks_the_step_asked_and_reopens_another(job: ShownJob) -> None:
    front = _run(job, ["y", "", "190", "182", "c", "3", "195"])
    assert "> 5 Solenoid valve: asked now" in front.text
    assert "  3 Upper header pressure: 190" in front.text
    assert "Steps ahead: 9" in front.text
    assert job.session.picture.closed["upper-pressure"].data["text"] == "195"
    assert job.key == "valve"


def test_one_sample_of_a_watch_can_be_named_in_the_list(job: ShownJob) -> None:
    _run(job, [*WALK[:8], "c", "7.1", "25 F"])
    assert job.session.picture.closed["clearing#1.coil_temperature"].data["text"] == "25 F"
    assert job.key == "clearing#2.coil_temperature"


@pytest.mark.parametrize(
    ("number", "says"),
    [
        ("99", "There is no step '99'."),
        ("9", "Step 9 is not answered yet."),
        ("7", "Step 7 has several values."),
    ],
)
def test_a_wrong_number_in_the_list_is_explained(job: ShownJob, number: str, says: str) -> None:
    front = _run(job, [*WALK[:8], "c", number])
    assert front.asked[-2].check(number).startswith(says)
    assert says in front.text


def test_enter_after_the_list_changes_nothing(job: ShownJob) -> None:
    _run(job, ["y", "c", ""])
    assert _kinds(job) == ["acknowledge", "stop"]


def test_help_is_shown_without_entering_anything(job: ShownJob) -> None:
    front = _run(job, ["y", "?"])
    assert "Why: It must not start by itself." in front.text
    assert _kinds(job) == ["acknowledge", "stop"]


def test_after_a_command_the_step_is_named_again(job: ShownJob) -> None:
    front = _run(job, ["y", "", "t"])
    assert "Step 3: Upper header pressure" in front.text


def test_an_adjustment_asks_what_from_and_to(job: ShownJob) -> None:
    _run(job, WALK[:18])
    assert job.session.picture.adjustments[-1].what == "stem"
    assert job.session.picture.adjustments[-1].after == "1 turn"


def test_an_adjustment_may_be_given_up_half_way(job: ShownJob) -> None:
    _run(job, [*WALK[:15], "stem", "b"])
    assert job.session.picture.adjustments == ()
    assert job.key == "one-thing@1"


def test_an_adjustment_gone_back_to_is_kept_by_enter(job: ShownJob) -> None:
    _run(job, [*WALK[:18], "b", ""])
    assert job.session.picture.adjustments[-1].before == "0 turns"
    assert job.key == "upper-again@1"


def test_before_and_after_are_both_kept(job: ShownJob) -> None:
    _run(job, WALK)
    texts = [r.text for r in job.session.picture.readings if r.quantity == "upper_pressure"]
    assert texts == ["190", "196 psig"]


def test_enter_alone_does_not_sign(job: ShownJob) -> None:
    job.session.who = "A. Sample"
    _run(job, [*WALK[:-1], ""])
    assert "sign" not in job.session.picture.closed
    _run(job, ["B. Other"])
    assert job.session.picture.closed["sign"].text("name") == "B. Other"
    assert job.session.picture.closed["sign"].who == "A. Sample"


def test_the_checks_of_a_front_end_enter_nothing(job: ShownJob) -> None:
    front = _run(job, ["y", ""])
    question: Question = front.asked[-1]
    assert "not known" in question.check("198 pisg")
    assert question.check("198 psig") == ""
    assert question.check("?") == ""
    assert _kinds(job) == ["acknowledge", "done", "stop"]


def test_the_status_line_fits_a_small_screen(job: ShownJob) -> None:
    front = _run(job, WALK[:6])
    assert front.asked[-1].ticking
    status = front.asked[-1].status(40)
    assert len(status) <= 40
    assert "next 2:00" in status
    assert "?help" in status


def test_a_disk_that_cannot_be_written_loses_only_the_last_line(
    job: ShownJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    refused: list[Entry] = []

    def full(job_id: str, entry: Entry) -> None:
        refused.append(entry)
        raise StoreError("Not saved: the job file could not be written (disk is full).")

    job.answer("y", "")
    monkeypatch.setattr(job.log, "append", full)
    front = _run(job, ["190"])
    assert "Not saved" in front.text
    assert job.key == "upper-pressure"


def test_a_job_taken_over_elsewhere_ends_the_dialogue(
    job: ShownJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    class TakenError(RackwalkError):
        pass

    def taken(job_id: str, entry: Entry) -> None:
        raise TakenError("another program")

    monkeypatch.setattr(job.log, "append", taken)
    with pytest.raises(TakenError):
        _run(job, ["y"])


def test_a_finished_job_can_be_opened_to_change_a_step(job: ShownJob) -> None:
    _run(job, WALK)
    front = TypedFront(["3", "", "gauge misread", "195", "", "A. Sample"])
    dialogue = Dialogue(job.session, job.texts, front)
    assert dialogue.change()
    assert dialogue.run()
    assert job.session.picture.closed["upper-pressure"].data["text"] == "195"
