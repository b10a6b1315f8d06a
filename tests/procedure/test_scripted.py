from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from procedure_drive import StandingClock

from expert.errors import ReadingError
from expert.procedure.checklist import Checklist
from expert.procedure.read_answers import load_answers, parse_answers
from expert.procedure.scripted import play
from expert.procedure.session import Session

ANSWERS = """
answers:
  hot-surfaces: yes
  hold-off: done
  hot-gas-header-pressure: 206 psig
  liquid-header-pressure: 198 psig
  hot-gas-valve: open
  pilot-line: {skip: no ladder at hand}
  clearing:
    - {at: 2 min, circuit_pressure: 150 psig, defrost_state: still running}
    - {at: 4 min, circuit_pressure: {skip: probe slipped}, defrost_state: ended by time}
  clearing-time: 24 min
  prove:
    - gloves-again: yes
      one-thing: {what: regulator stem, from: 0 turns, to: 1.5 turns in}
      hot-gas-again: 216 psig
      liquid-again: 199 psig
  frost-pattern: clear of frost
  restore-schedule-held-off: done
  sign: N. N.
notes:
  hot-gas-valve: a slight hum
"""


def run(session: Session, checklist: Checklist, text: str = ANSWERS) -> list[str]:
    answers = parse_answers(text, "answers.yaml", checklist)
    return [played.active.key for played in play(session, answers)]


def refusal(session: Session, checklist: Checklist, old: str, new: str) -> str:
    assert old in ANSWERS
    with pytest.raises(ReadingError) as caught:
        run(session, checklist, ANSWERS.replace(old, new, 1))
    return str(caught.value)


def line_of(text: str) -> int:
    return ANSWERS[: ANSWERS.index(text)].count("\n") + 1


def test_a_whole_job_is_played_from_a_file(session: Session, checklist: Checklist) -> None:
    played = run(session, checklist)
    assert session.finished
    assert played[0] == "hot-surfaces"
    assert "prove?2" in played


def test_a_sample_keeps_its_minute_and_time(
    session: Session, checklist: Checklist, clock: StandingClock
) -> None:
    run(session, checklist)
    entry = session.picture.closed["clearing#1.circuit_pressure"]
    assert entry.data["at_minute"] == 2
    assert entry.time("taken") == clock.time + timedelta(minutes=2)


PHOTOS = "photos:\n  hold-off: {files: [coil.png, plate.jpg], caption: before}\n"


def test_photos_come_from_files_beside_the_answers_file(
    session: Session, checklist: Checklist, tmp_path: Path
) -> None:
    answers = parse_answers(ANSWERS + PHOTOS, str(tmp_path / "answers.yaml"), checklist)
    (tmp_path / "coil.png").write_bytes(b"\x89PNG\r\n\x1a\n1")
    with pytest.raises(ReadingError, match=r"answers.yaml:\d+:\d+: The photo .*plate.jpg"):
        list(play(session, answers))
    (tmp_path / "plate.jpg").write_bytes(b"\xff\xd8\xff 2")
    list(play(session, answers))
    found = [(each.step, each.text("caption")) for each in session.picture.photos]
    assert found == [("hold-off", "before")] * 2


def test_skips_adjustments_and_notes_come_from_the_file(
    session: Session, checklist: Checklist
) -> None:
    run(session, checklist)
    assert [entry.text("reason") for entry in session.picture.skips] == [
        "no ladder at hand", "probe slipped",
    ]  # fmt: skip
    assert session.picture.adjustments[0].after == "1.5 turns in"
    assert [(note.step, note.text("text")) for note in session.picture.notes] == [
        ("hot-gas-valve", "a slight hum")
    ]


def test_without_rounds_the_question_of_a_loop_is_answered_no(
    session: Session, checklist: Checklist
) -> None:
    start, end = ANSWERS.index("  prove:"), ANSWERS.index("  frost-pattern:")
    run(session, checklist, ANSWERS[:start] + ANSWERS[end:])
    assert session.picture.closed["prove?1"].data["value"] == "no"


def test_a_missing_answer_is_named_and_what_was_entered_stays(
    session: Session, checklist: Checklist
) -> None:
    message = refusal(session, checklist, "  liquid-header-pressure: 198 psig\n", "")
    assert "answers.yaml" in message
    assert "step 'liquid-header-pressure' (liquid header pressure) has no answer" in message
    assert "215 psig" in message
    assert [reading.text for reading in session.picture.readings] == ["206 psig"]


def test_a_refused_answer_is_named_with_its_place(session: Session, checklist: Checklist) -> None:
    message = refusal(session, checklist, "198 psig", "1980 psig")
    assert message.startswith(f"answers.yaml:{line_of('liquid-header-pressure')}:27: ")
    assert "0.0 psig to 600.0 psig" in message
    assert len(session.picture.readings) == 1


def test_an_empty_answer_is_refused(session: Session, checklist: Checklist) -> None:
    assert "hold-off" in refusal(session, checklist, "hold-off: done", 'hold-off: ""')


def test_a_caution_answered_with_no_ends_the_run(session: Session, checklist: Checklist) -> None:
    message = refusal(session, checklist, "hot-surfaces: yes", "hot-surfaces: no")
    assert "Put your gloves on." in message
    assert session.current is not None
    assert session.current.key == "hot-surfaces"


def test_a_caution_skipped_in_a_file_is_a_no_that_leaves_out_what_it_guards(
    session: Session, checklist: Checklist
) -> None:
    text = ANSWERS.replace("hot-surfaces: yes", "hot-surfaces: {skip: no gloves here}", 1)
    run(session, checklist, text)
    assert session.finished
    assert [entry.text("reason") for entry in session.picture.refused] == ["no gloves here"]
    steps = {entry.step for entry in session.picture.entries}
    assert "hot-gas-header-pressure" not in steps
    assert "hot-gas-again@1" in steps  # the caution was answered with yes again before it


def test_a_missing_sample_is_named(session: Session, checklist: Checklist) -> None:
    message = refusal(session, checklist, "ended by time", "still running")
    assert "step 'clearing', sample 3" in message


def test_a_missing_answer_in_a_round_is_named_with_the_round(
    session: Session, checklist: Checklist
) -> None:
    message = refusal(session, checklist, "      liquid-again: 199 psig\n", "")
    assert f"answers.yaml:{line_of('gloves-again')}:" in message
    assert "step 'liquid-again', round 1" in message


def test_a_whole_watch_can_be_skipped(session: Session, checklist: Checklist) -> None:
    start, end = ANSWERS.index("  clearing:"), ANSWERS.index("  clearing-time:")
    text = f"{ANSWERS[:start]}  clearing: {{skip: no probe}}\n{ANSWERS[end:]}"
    run(session, checklist, text)
    assert session.picture.closed["clearing"].kind == "skip"


def test_an_unusual_value_is_taken_with_its_question_handed_on(
    session: Session, checklist: Checklist
) -> None:
    answers = parse_answers(ANSWERS.replace("206 psig", "60 psig"), "answers.yaml", checklist)
    questions = [played.question for played in play(session, answers) if played.question]
    assert len(questions) == 1
    assert "60.0 psig is below 80.0 psig" in questions[0]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("hold-off", "hold-of", "Did you mean 'hold-off'?"),
        ("circuit_pressure: 150", "circuit_presure: 150", "Did you mean 'circuit_pressure'?"),
        ("what: regulator stem, ", "", "lacks 'what'"),
        ("gloves-again", "glovs-again", "Did you mean 'gloves-again'?"),
        ("  hot-gas-valve: a slight hum", "  hot-gas-valv: a hum", "Did you mean 'hot-gas-valve'?"),
        ("hold-off: done", "hold-off: done\n  hold-off: done", "second time"),
        ("hold-off: done", "hold-off: {reason: none}", "unknown-key"),
        ("clearing-time: 24 min", "clearing-time: [24 min]", "not-a-mapping"),
    ],
)
def test_a_file_of_the_wrong_form_is_refused_before_anything_is_entered(
    session: Session, checklist: Checklist, old: str, new: str, says: str
) -> None:
    message = refusal(session, checklist, old, new)
    assert says in message
    assert session.picture.entries == ()


def test_playing_goes_on_where_a_job_stands(session: Session, checklist: Checklist) -> None:
    with pytest.raises(ReadingError):
        run(session, checklist, ANSWERS.replace("198 psig", "lots"))
    assert run(session, checklist)[0] == "liquid-header-pressure"
    assert session.finished


def test_a_missing_file_is_named(tmp_path: Path, checklist: Checklist) -> None:
    with pytest.raises(ReadingError, match="Cannot read the answers file"):
        load_answers(tmp_path / "none.yaml", checklist)
