from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from procedure_drive import answer, finish, go_to
from rack_walk import SITE, WALK, asked, keys, open_session, walk_runner

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.procedure.entries import from_json, to_json
from expert.procedure.picture import fold
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session


@pytest.fixture
def session(walk: Runner) -> Session:
    """At the question which circuits."""
    session = open_session(walk)
    go_to(session, "each~", hot_gas_valve="shut")
    return session


def choose(session: Session, text: str) -> list[str]:
    answer(session, text)
    return [key.rpartition("~")[2] for key in keys(session) if key.startswith("case-air~")]


def test_all_members_are_taken_in_the_order_of_the_site(session: Session) -> None:
    assert choose(session, "") == ["A1", "A2", "A3"]


@pytest.mark.parametrize("typed", ["a3, A1", "A1,A3", "A3 a1", "A1, A3, a1"])
def test_some_members_may_be_chosen(session: Session, typed: str) -> None:
    assert choose(session, typed) == ["A1", "A3"]
    assert session.picture.closed["each~"].members == ("A1", "A3")


@pytest.mark.parametrize("typed", ["A9", "A1, B2", "C1"])
def test_what_is_no_member_of_that_kind_is_refused_with_those_that_are(
    session: Session, typed: str
) -> None:
    with pytest.raises(ReadingError) as caught:
        session.answer(typed)
    assert "A1" in str(caught.value)
    assert asked(session) == "each~"


def test_none_are_taken_where_the_question_is_skipped_with_a_reason(session: Session) -> None:
    session.skip("store closed")
    assert asked(session) == "restore-schedule-held-off"


def test_a_member_without_a_list_in_the_site_file_is_told_and_passed_over(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    walk = WALK.replace("each: circuit", "each: case").replace("most circuits", "most cases")
    session = open_session(walk_runner(tmp_path, rulebase, checklist_text, walk))
    go_to(session, "each~", hot_gas_valve="shut")
    assert session.current is not None
    assert "lists no case" in session.runner.expected(session.current)
    answer(session, "")
    assert asked(session) == "restore-schedule-held-off"


def test_a_reading_carries_its_member_in_key_and_subject(session: Session) -> None:
    answer(session, "A2")
    go_to(session, "restore-probe-in-the-case~A2", case_air="-5 F")
    (reading,) = (r for r in session.runner.readings(session.picture) if r.subject)
    assert (reading.step, reading.subject) == ("case-air~A2", "A2")
    assert [r.subject for r in session.picture.readings if r.quantity == "case_air"] == ["A2"]


def test_a_condition_is_judged_by_the_members_own_limit(session: Session) -> None:
    answer(session, "")
    finish(session, case_air="10 F")  # A1 may be as warm as 12 F
    warm = [key for key in keys(session) if key.startswith("coil-voltage~")]
    assert warm == ["coil-voltage~A2", "coil-voltage~A3"]


def test_one_member_knows_nothing_of_the_readings_on_another(session: Session) -> None:
    answer(session, "A2, A3")
    go_to(session, "case-air~A3", case_air="10 F")
    assert "coil-voltage~A3" not in keys(session)


def test_findings_belong_to_their_member(session: Session) -> None:
    answer(session, "A2, A3")
    go_to(session, "case-air~A3", case_air="10 F")
    answer(session, "-5 F")
    found = session.runner.found_on_members(session.picture)
    assert [(m.id, [f.cause.id for f in findings]) for m, findings in found] == [
        ("A2", ["warm-case"]), ("A3", []),
    ]  # fmt: skip


def test_rules_count_over_the_members(session: Session) -> None:
    answer(session, "")
    go_to(session, "case-air~A3", case_air="14 F")
    assert [finding.cause.id for finding in session.evaluation().findings] == ["warm-rack"]


def test_members_that_were_not_chosen_are_unknown_and_not_well(session: Session) -> None:
    answer(session, "A2")
    go_to(session, "restore-schedule-held-off", case_air="10 F")
    assert session.evaluation().findings == ()


def test_a_condition_after_the_phase_counts_over_the_members(session: Session) -> None:
    answer(session, "")
    go_to(session, "tell", case_air="14 F")
    assert session.current is not None


def test_what_the_rack_shows_is_not_said_again_of_each_member(walk: Runner) -> None:
    session = open_session(walk)
    finish(session)
    found = session.runner.found_on_members(session.picture)
    assert {f.cause.id for f in session.evaluation(subject="A3").findings} == {
        "set-low", "warm-case",
    }  # fmt: skip
    assert [[f.cause.id for f in findings] for _, findings in found] == [[], ["warm-case"]]


def test_a_member_can_be_left_out_with_a_reason(session: Session) -> None:
    answer(session, "A1, A2")
    session.skip("door locked", member=True)
    assert asked(session) == "gloves~A2"
    assert [(entry.step, entry.text("subject")) for entry in session.picture.skips] == [
        ("each~A1", "A1")
    ]


def test_leaving_a_member_out_needs_a_reason(session: Session) -> None:
    answer(session, "A1")
    with pytest.raises(ReadingError, match="reason"):
        session.skip("", member=True)


def test_what_was_opened_on_a_member_that_is_left_out_is_still_put_back(session: Session) -> None:
    answer(session, "A1, A2")
    go_to(session, "case-air~A1")
    session.skip("door locked", member=True)
    assert asked(session) == "restore-probe-in-the-case~A1"
    assert session.picture.still_open == ("schedule held off", "probe in the case (A1)")
    with pytest.raises(ReadingError, match="left out already"):
        session.skip("door locked", member=True)
    answer(session)
    assert asked(session) == "gloves~A2"
    assert session.picture.still_open == ("schedule held off",)


def test_what_was_read_on_a_member_before_it_was_left_out_stays(session: Session) -> None:
    answer(session, "A3")
    go_to(session, "coil-voltage~A3")
    session.skip("door locked", member=True)
    assert [r.subject for r in session.runner.readings(session.picture) if r.subject] == ["A3"]


def test_a_member_that_was_left_out_can_be_taken_up_again(session: Session) -> None:
    answer(session, "A1")
    session.skip("door locked", member=True)
    session.reopen("each~A1")
    assert asked(session) == "gloves~A1"


def test_a_step_reopened_on_a_member_that_is_left_out_is_not_asked_without_its_cautions(
    make_walk: Callable[[str, str], Runner],
) -> None:
    steps = """        - observe: hot_gas_valve
          id: valve
        - caution: hot-surfaces
          id: gloves-for-all
          unless: [hot_gas_valve is shut]
        - ask: case_air
"""
    session = open_session(make_walk("        - ask: case_air\n", steps))
    go_to(session, "each~", hot_gas_valve="shut")
    for typed in ("A1", "y", "", "shut", "10 F"):
        answer(session, typed)
    session.skip("door locked", member=True)
    session.reopen("case-air~A1")
    session.reopen("valve~A1")
    answer(session, "open")
    assert asked(session) == "gloves-for-all~A1"


def test_one_member_is_opened_and_put_back_apart_from_another(session: Session) -> None:
    answer(session, "A1, A2")
    go_to(session, "restore-probe-in-the-case~A2", case_air="-5 F")
    session.reopen("probe-in~A1")
    answer(session)
    assert asked(session) == "restore-probe-in-the-case~A1"
    assert session.picture.still_open == (
        "schedule held off", "probe in the case (A1)", "probe in the case (A2)",
    )  # fmt: skip


def test_what_was_opened_on_a_member_that_is_no_longer_chosen_must_be_put_back(
    session: Session,
) -> None:
    answer(session, "A1, A2")
    go_to(session, "case-air~A1")
    session.reopen("each~")
    answer(session, "A2")
    go_to(session, "restore-probe-in-the-case@0~A1", case_air="-5 F")
    answer(session, "done")
    assert asked(session) == "sign"


def test_the_choice_before_is_offered_when_the_question_is_reopened(session: Session) -> None:
    assert session.default() == "all"
    answer(session, "A1, A3")
    session.reopen("each~")
    assert session.default() == "A1, A3"
    answer(session, "")
    assert session.picture.closed["each~"].members == ("A1", "A3")


def test_a_choice_survives_being_written_down(session: Session) -> None:
    answer(session, "A1, A3")
    entries = session.picture.entries
    assert fold(from_json(to_json(entry)) for entry in entries) == session.picture


def test_a_member_with_strange_signs_in_its_id_is_taken(
    tmp_path: Path, rulebase: Rulebase, checklist_text: str
) -> None:
    made = walk_runner(tmp_path, rulebase, checklist_text)
    site = parse_site(SITE.replace("{id: A2,", '{id: "A #2/b@3?~",'), "site.yaml", rulebase)
    rack = site.subjects["A"]
    evaluator = Evaluator(rulebase, rack, members=site.members(rack), backend="plain")
    session = open_session(runner_for(made.checklist, evaluator))
    go_to(session, "each~", hot_gas_valve="shut")
    answer(session, "a #2/b@3?~")
    finish(session)
    assert [r.subject for r in session.runner.readings(session.picture)][-2:] == ["A #2/b@3?~"] * 2
    assert session.picture.still_open == ()


def test_a_circuit_has_only_its_own_cases(rulebase: Rulebase, walk: Runner) -> None:
    cases = "{id: A2, title: Island, cases: [{id: K1}, {id: K2}]}"
    text = SITE.replace("{id: A2, title: Island}", cases)
    text = text.replace("{id: A3, title: Walk-in}", "{id: A3, cases: [{id: K3}]}")
    site = parse_site(text, "site.yaml", rulebase)

    def cases_of(name: str) -> tuple[str, ...]:
        subject = site.subjects[name]
        evaluator = Evaluator(rulebase, subject, members=site.members(subject), backend="plain")
        return runner_for(walk.checklist, evaluator).members_of("case")

    assert cases_of("A2") == ("K1", "K2")
    assert cases_of("A") == ("K1", "K2", "K3")
