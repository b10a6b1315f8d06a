from __future__ import annotations

from pathlib import Path

import pytest
from procedure_drive import answer, finish, go_to
from rack_walk import (
    WALK,
    asked,
    keys,
    only,
    open_session,
    problems_of,
    walk_runner,
    write,
)

from expert.errors import PackError, ReadingError
from expert.knowledge.model import Rulebase
from expert.procedure.load_checklists import load_checklist, load_checklists, parse_checklist
from expert.procedure.read_answers import parse_answers
from expert.procedure.runner import Runner
from expert.procedure.scripted import play
from expert.procedure.session import Session

CALLED = """
checklist:
  id: called
  title: Called
  revision: 1
  purpose: For the tests.
  subject: circuit
  source: from memory
  phases:
    - id: only
      title: Only
      stage: as found
      steps:
        - observe: hot_gas_valve
"""
CALLER = CALLED.replace("id: called", "id: caller") + "        - call: called\n"
ANSWERS = """
answers:
  hot-surfaces: yes
  hold-off: done
  hot-gas-valve: open
  checkout:
    hot-surfaces: yes
    hold-off: done
    hot-gas-header-pressure: 206 psig
    liquid-header-pressure: 198 psig
    hot-gas-valve: open
    pilot-line: done
    clearing:
      - {at: 2 min, circuit_pressure: 150 psig, defrost_state: ended by time}
    clearing-time: 18 min
    prove:
      - gloves-again: yes
        one-thing: {what: regulator stem, from: 0 turns, to: 1 turn in}
        hot-gas-again: 216 psig
        liquid-again: 199 psig
    frost-pattern: clear
  frost-pattern: none left
  each: {skip: no ladder}
  restore-schedule-held-off: done
  sign: N. N.
notes:
  checkout/hot-gas-valve: a slight hum
"""


@pytest.fixture
def session(walk: Runner) -> Session:
    return open_session(walk)


def test_the_steps_of_a_called_checklist_come_in_place_under_the_id_of_the_call(
    session: Session,
) -> None:
    go_to(session, "checkout")
    found = keys(session)
    call = found.index("checkout")
    assert found[call + 1 : call + 3] == ["checkout/hot-surfaces", "checkout/hold-off"]
    assert found[call - 1] == "hot-gas-valve"


def test_a_caution_acknowledged_before_is_asked_again_by_the_called_checklist(
    session: Session,
) -> None:
    go_to(session, "checkout")
    answer(session)
    assert asked(session) == "checkout/hot-surfaces"
    assert [entry.step for entry in session.picture.acknowledged] == ["hot-surfaces"]


def test_the_job_comes_back_with_the_readings_of_the_called_checklist(session: Session) -> None:
    go_to(session, "frost-pattern")
    assert {r.quantity for r in session.runner.readings(session.picture)} >= {
        "hot_gas_header_pressure", "clearing_time",
    }  # fmt: skip
    assert [finding.cause.id for finding in session.evaluation().findings] == ["set-low"]


def test_a_condition_of_the_caller_sees_what_the_called_checklist_read(session: Session) -> None:
    go_to(session, "each~")
    assert "frost-pattern" in session.picture.closed


def test_a_call_that_does_not_apply_brings_none_of_its_steps(session: Session) -> None:
    go_to(session, "hot-gas-valve")
    answer(session, "shut")
    assert asked(session) == "each~"
    assert not [key for key in keys(session) if key.startswith("checkout")]


def test_a_call_skipped_with_a_reason_brings_none_of_its_steps(session: Session) -> None:
    go_to(session, "checkout")
    session.skip("done this morning")
    assert asked(session) == "each~"
    assert [entry.step for entry in session.picture.skips] == ["checkout"]


def test_a_checklist_that_is_not_for_the_subject_is_passed_over_and_the_record_says_why(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    other = checklist_text.replace(
        "  source: from", "  applies: {application: medium temperature}\n  source: from", 1
    )
    session = open_session(walk_runner(tmp_path, rulebase, other))
    go_to(session, "checkout")
    assert session.current is not None
    why = "application must be medium temperature, and A is low temperature"
    assert session.current.not_for == why
    answer(session, "")
    go_to(session, "each~")
    assert not [key for key in keys(session) if key.startswith("checkout/")]
    done, note = (each for each in session.picture.entries if each.step == "checkout")
    assert (done.kind, done.text("not_for")) == ("done", why)
    assert (note.kind, note.text("text")) == ("note", f"Passed over, not for this job: {why}.")


def test_a_file_need_not_answer_a_call_that_is_passed_over(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    other = checklist_text.replace(
        "  source: from", "  applies: {application: medium temperature}\n  source: from", 1
    )
    session = open_session(walk_runner(tmp_path, rulebase, other))
    text = "answers: {hot-surfaces: yes, hold-off: done, hot-gas-valve: open, each: {skip: late}}"
    with pytest.raises(ReadingError, match="restore-schedule"):
        list(play(session, parse_answers(text, "answers.yaml", session.runner.checklist)))
    assert session.picture.closed["checkout"].text("not_for")


def test_as_found_steps_take_the_stage_of_the_phase_that_calls(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    later = WALK.replace("stage: as found", "stage: as left")
    session = open_session(walk_runner(tmp_path, rulebase, checklist_text, later))
    go_to(session, "checkout/hot-gas-header-pressure")
    assert session.current is not None
    assert session.current.stage == "as left"


def test_phases_as_left_stay_as_left_in_a_phase_as_found(session: Session) -> None:
    go_to(session, "checkout/frost-pattern")
    assert session.current is not None
    assert session.current.stage == "as left"
    answer(session)
    assert (asked(session), session.current.stage) == ("frost-pattern", "as found")


def test_after_an_adjustment_in_a_called_checklist_nothing_is_as_found_any_more(
    session: Session,
) -> None:
    go_to(session, "checkout/prove?1")
    answer(session, "yes")
    go_to(session, "frost-pattern")
    assert session.current is not None
    assert (session.current.stage, session.current.round) == ("as left", 1)


def test_the_job_is_signed_once_by_its_own_signature(session: Session) -> None:
    finish(session)
    signed = [entry.step for entry in session.picture.entries if entry.kind == "sign"]
    assert signed == ["sign"]
    assert session.runner.signed_by(session.picture) == "N. N."


def test_what_the_caller_holds_open_is_put_back_by_the_caller_alone(session: Session) -> None:
    go_to(session, "each~")
    assert "checkout/restore-schedule-held-off" not in keys(session)
    assert session.picture.still_open == ("schedule held off",)
    finish(session)
    assert "restore-schedule-held-off" in session.picture.closed
    assert session.picture.still_open == ()


def test_a_called_checklist_puts_back_what_only_it_opened(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    opens = "        - instruct: Hold off the schedule.\n          id: hold-off\n"
    opens += "          opens: schedule held off\n"
    walk = WALK.replace(opens, "").replace("        - restore: schedule held off\n", "")
    session = open_session(walk_runner(tmp_path, rulebase, checklist_text, walk))
    go_to(session, "checkout/restore-schedule-held-off")
    answer(session)
    assert session.picture.still_open == ()


def test_what_was_opened_in_a_call_that_no_longer_applies_is_put_back_before_the_signature(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    renamed = checklist_text.replace("schedule held off", "plug pulled")
    session = open_session(walk_runner(tmp_path, rulebase, renamed))
    go_to(session, "checkout/hot-gas-header-pressure")
    session.reopen("hot-gas-valve")
    answer(session, "shut")
    go_to(session, "checkout/restore-plug-pulled@0")
    assert session.picture.still_open == ("plug pulled",)
    answer(session, "done")
    assert asked(session) == "sign"


def test_a_clock_of_the_caller_is_not_taken_for_one_of_the_called_checklist(
    session: Session,
) -> None:
    go_to(session, "checkout/clearing-time")
    assert session.current is not None
    clock = session.runner.elapsed(session.picture, session.current, session.now())
    assert clock is not None
    inner = session.picture.closed["checkout/clock-defrost"]
    assert clock.started == inner.time("started")


def test_a_called_checklist_is_played_from_a_nested_mapping(session: Session, walk: Runner) -> None:
    list(play(session, parse_answers(ANSWERS, "answers.yaml", walk.checklist)))
    assert session.finished
    assert session.picture.adjustments[0].step == "checkout/one-thing@1"
    assert [note.step for note in session.picture.notes] == ["checkout/hot-gas-valve"]


def test_a_call_is_skipped_from_a_file(session: Session, walk: Runner) -> None:
    start, end = ANSWERS.index("  checkout:"), ANSWERS.index("  frost-pattern: none")
    text = f"{ANSWERS[:start]}  checkout: {{skip: done before}}\n{ANSWERS[end:]}"
    text = text.replace("  frost-pattern: none left\n", "").partition("notes:")[0]
    list(play(session, parse_answers(text, "answers.yaml", walk.checklist)))
    assert session.finished
    assert session.picture.closed["checkout"].text("reason") == "done before"


@pytest.mark.parametrize(
    ("old", "says"),
    [
        ("    clearing-time: 18 min\n", "step 'checkout/clearing-time'"),
        ("        liquid-again: 199 psig\n", "step 'checkout/liquid-again', round 1"),
    ],
)
def test_an_answer_missing_inside_a_call_is_named_with_its_place(
    session: Session, walk: Runner, old: str, says: str
) -> None:
    answers = parse_answers(ANSWERS.replace(old, ""), "answers.yaml", walk.checklist)
    with pytest.raises(ReadingError) as caught:
        list(play(session, answers))
    assert says in str(caught.value)
    assert not str(caught.value).startswith("answers.yaml:3:")


def test_an_unknown_step_inside_a_call_is_refused_before_anything_is_entered(
    walk: Runner,
) -> None:
    with pytest.raises(ReadingError, match="Did you mean 'clearing-time'"):
        parse_answers(ANSWERS.replace("clearing-time:", "clearing-tim:"), "a", walk.checklist)


def test_one_file_loads_the_checklists_that_it_calls(tmp_path: Path, rulebase: Rulebase) -> None:
    write(tmp_path, caller=CALLER, called=CALLED, broken="checklist: {}")
    step = load_checklist(tmp_path / "caller.yaml", rulebase).step("called/hot-gas-valve")
    assert step is not None


def test_a_called_checklist_is_found_in_a_file_of_another_name(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    write(tmp_path, caller=CALLER, something=CALLED)
    assert load_checklist(tmp_path / "caller.yaml", rulebase).step("called/hot-gas-valve")


def test_the_hash_changes_with_a_called_checklist(tmp_path: Path, rulebase: Rulebase) -> None:
    write(tmp_path, caller=CALLER, called=CALLED)
    before = load_checklist(tmp_path / "caller.yaml", rulebase).hash
    write(tmp_path, called=CALLED.replace("title: Only", "title: Alone"))
    assert load_checklist(tmp_path / "caller.yaml", rulebase).hash != before


def test_an_unknown_checklist_is_named_with_the_nearest(tmp_path: Path, rulebase: Rulebase) -> None:
    write(tmp_path, caller=CALLER.replace("call: called", "call: caled"), called=CALLED)
    problem = only(problems_of(tmp_path, rulebase))
    assert (problem.code, problem.hint) == ("unknown-checklist", "Did you mean 'called'?")
    assert problem.place.path == str(tmp_path / "caller.yaml")


def test_a_text_without_a_folder_can_call_nothing(rulebase: Rulebase) -> None:
    with pytest.raises(PackError, match="unknown-checklist"):
        parse_checklist(CALLER, "caller.yaml", rulebase)


def test_a_circle_of_calls_is_refused_with_its_way(tmp_path: Path, rulebase: Rulebase) -> None:
    back = CALLED + "        - call: third\n"
    third = CALLED.replace("id: called", "id: third") + "        - call: caller\n"
    write(tmp_path, caller=CALLER, called=back, third=third)
    problem = only(problems_of(tmp_path, rulebase))
    assert problem.code == "call-circle"
    assert "called -> third -> caller -> called" in problem.message


def test_a_checklist_that_calls_itself_is_refused(tmp_path: Path, rulebase: Rulebase) -> None:
    write(tmp_path, called=CALLED + "        - call: called\n          id: again\n")
    assert only(problems_of(tmp_path, rulebase)).code == "call-circle"


def test_a_called_checklist_must_be_for_the_same_kind_of_subject(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    write(tmp_path, caller=CALLER, called=CALLED.replace("circuit", "rack"))
    assert only(problems_of(tmp_path, rulebase)).code == "call-subject"


def test_problems_of_a_called_checklist_are_reported_once_in_its_own_file(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    write(tmp_path, caller=CALLER, called=CALLED.replace("hot_gas_valve", "hot_gas_valv"))
    problem = only(problems_of(tmp_path, rulebase))
    assert problem.place.path == str(tmp_path / "called.yaml")


def test_a_repeated_phase_cannot_call_a_checklist_that_repeats(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    phase = """    - id: again
      title: Again
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 2}
      steps:
        - call: small-checkout
"""
    write(tmp_path, caller=CALLER.replace("        - call: called\n", phase))
    write(tmp_path, small_checkout=checklist_text)
    assert only(problems_of(tmp_path, rulebase)).code == "repeat-twice"


def test_a_round_runs_a_call_once_each_time(tmp_path: Path, rulebase: Rulebase) -> None:
    phase = """    - id: again
      title: Again
      stage: as left
      repeat: {ask: adjustment_wanted, while: "yes", at_most: 2}
      steps:
        - adjust: one-thing
        - call: called
"""
    text = CALLER.replace("circuit", "rack").replace("        - call: called\n", phase)
    walk = text.replace("id: caller", "id: rack-walk")
    write(tmp_path, called=CALLED.replace("circuit", "rack"))
    session = open_session(walk_runner(tmp_path, rulebase, CALLED.replace("called", "x"), walk))
    for typed in ("open", "yes", "stem; 0; 1", "", "shut", "yes", "stem; 1; 2", "", "open"):
        answer(session, typed)
    assert session.finished
    found = {reading.step: reading.round for reading in session.runner.readings(session.picture)}
    assert (found["called/hot-gas-valve@1"], found["called/hot-gas-valve@2"]) == (1, 2)


def test_a_quantity_that_only_a_later_call_reads_is_not_known_yet(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    steps = "        - ask: coil_voltage\n          when: [hot_gas_valve is open]\n"
    text = CALLER.replace("        - observe: hot_gas_valve\n", steps)
    write(tmp_path, caller=text, called=CALLED)
    assert only(problems_of(tmp_path, rulebase)).code == "not-known-yet"


def test_all_checklists_of_a_folder_are_there_by_themselves_too(
    tmp_path: Path, rulebase: Rulebase
) -> None:
    found = load_checklists(write(tmp_path, caller=CALLER, called=CALLED), rulebase)
    assert sorted(found) == ["called", "caller"]
    assert found["called"].step("hot-gas-valve")
