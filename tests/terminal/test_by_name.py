"""Readings typed by name at any prompt, waits that are waits, screens of several."""

from __future__ import annotations

from datetime import timedelta

import pytest
from terminal_help import ShownJob, TypedFront

from expert.procedure.screens import WORKING
from expert.terminal.dialogue import Dialogue


def run(job: ShownJob, *lines: str, depth: str = "") -> TypedFront:
    front = TypedFront(lines)
    Dialogue(job.session, job.texts, front).run(depth)
    return front


def value(job: ShownJob, key: str) -> str:
    return job.session.picture.closed[key].text("text")


def test_a_reading_of_a_later_step_is_taken_by_its_name(job: ShownJob) -> None:
    front = run(job, "y", "", "lower header 182")
    assert "Lower header pressure: 182.0 psig" in front.text
    assert value(job, "lower-pressure") == "182"
    assert job.key == "upper-pressure"


def test_several_stand_on_a_line(job: ShownJob) -> None:
    run(job, "y", "", "lower header 182; upper header 190; valve open")
    assert [value(job, key) for key in ("lower-pressure", "upper-pressure", "valve")] == [
        "182", "190", "open",
    ]  # fmt: skip


def test_what_stands_without_a_name_before_them_is_for_the_step_asked(job: ShownJob) -> None:
    run(job, "y", "", "190; lower header 182")
    assert (value(job, "upper-pressure"), value(job, "lower-pressure")) == ("190", "182")


def test_a_line_typed_where_a_yes_was_asked_is_not_lost(job: ShownJob) -> None:
    run(job, "y", "", "190", "upper header 200", "lower header 182")
    assert (value(job, "upper-pressure"), value(job, "lower-pressure")) == ("190", "182")


def test_no_sign_is_needed_between_them(job: ShownJob) -> None:
    run(job, "y", "", "upper header 190 psig lower header 182")
    assert (value(job, "upper-pressure"), value(job, "lower-pressure")) == ("190 psig", "182")


def test_how_it_was_read_stands_behind_it_and_is_shown_with_the_value(job: ShownJob) -> None:
    front = run(job, "y", "", "upper header 190 psig by display lower header 182 by manifold")
    assert "190.0 psig +/- 3.0 (13.10 bar), by display" in " ".join(front.text.split())
    spread = [job.session.picture.closed[key].data["plus_minus"] for key in
              ("upper-pressure", "lower-pressure")]  # fmt: skip
    assert spread == pytest.approx([3 * 6894.757, 2 * 6894.757], rel=1e-6)


def test_the_question_mark_says_how_true_it_is_and_how_else_it_can_be_read(job: ShownJob) -> None:
    front = run(job, "y", "", "?")
    told = " ".join(front.text.split())
    assert "True to: 1.0 psi; where it is read otherwise type it behind: by gauge manifold" in told


def test_nothing_is_read_before_its_hazard_and_it_is_not_lost(job: ShownJob) -> None:
    front = run(job, "upper header 190", "y", "", "")
    assert "waits: first the caution" in " ".join(front.text.split())
    assert value(job, "upper-pressure") == "190"


def test_nothing_is_read_before_its_event_and_it_is_kept_as_a_note(job: ShownJob) -> None:
    front = run(job, "y", "", "coil temperature 20 F")
    told = " ".join(front.text.split())
    assert "The reading 'coil temperature, sample 1' cannot be taken yet" in told
    assert [note.text("text") for note in job.session.picture.notes] == [
        "Typed: coil temperature 20 F"
    ]


def test_what_was_read_before_is_replaced_only_when_it_is_meant(job: ShownJob) -> None:
    run(job, "y", "", "190", "upper header 200", "n")
    assert value(job, "upper-pressure") == "190"
    run(job, "upper header 200", "y")
    assert value(job, "upper-pressure") == "200"


def test_a_name_that_fits_several_is_asked(job: ShownJob) -> None:
    front = run(job, "y", "", "header 190")
    told = " ".join(front.text.split())
    assert "upper header pressure; lower header pressure" in told
    assert job.key == "upper-pressure"


def test_a_sample_keeps_its_own_time(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "")
    job.clock.at += timedelta(minutes=9)
    run(job, "20 F at 2:00", "1", "coil temperature 30 F at 4:00")
    samples = [
        entry.data["at_minute"]
        for entry in job.session.picture.closed.values()
        if entry.data.get("quantity") == "coil_temperature"
    ]
    assert samples == [2.0, 4.0]
    seconds = [each.seconds for each in job.session.picture.readings if each.seconds]
    assert seconds[0] == 120.0


def test_a_time_that_the_clock_does_not_show_needs_a_reason(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20 F", "2")
    front = run(job, "24 min", "", "24 min", "started late")
    assert "and 24:00 was typed" in front.text
    entry = job.session.picture.closed["clearing-time"]
    assert (entry.text("text"), entry.text("early")) == ("24 min", "started late")


def test_at_working_depth_values_with_nothing_odd_are_passed(job: ShownJob) -> None:
    front = run(job, "y", "", "198", "182", "open", "", "20 F", "2", "", depth=WORKING)
    assert front.text.count("Kept: ") == 6  # what closed by itself behind one hides no answer
    passed = [e.step for e in job.session.picture.entries if e.data.get("passed")]
    assert passed
    assert job.session.depth == WORKING


@pytest.mark.parametrize("typed", ["1 190; 2 182", "1 190\n2 182", "upper header 190; 2 182"])
def test_the_table_of_a_place_takes_rows_in_any_order(job: ShownJob, typed: str) -> None:
    front = run(job, "y", "", "f", *typed.split("\n"), "")
    assert "To be read now" in front.text
    assert (value(job, "upper-pressure"), value(job, "lower-pressure")) == ("190", "182")


@pytest.mark.parametrize("typed", ["loer header 182", "190; loer header 182"])
def test_a_name_typed_wrong_is_told_with_the_one_that_is_near(job: ShownJob, typed: str) -> None:
    front = run(job, "y", "", typed)
    assert "Did you mean 'lower header pressure'?" in " ".join(front.text.split())
    assert "lower-pressure" not in job.session.picture.closed


def test_the_check_beside_the_prompt_says_it_too(job: ShownJob) -> None:
    front = run(job, "y", "")
    assert (
        front.asked[-1].check("loer header 182").endswith("Did you mean 'lower header pressure'?")
    )


def test_the_same_value_again_is_told_and_not_asked(job: ShownJob) -> None:
    front = run(job, "y", "", "lower header 182", "lower header 182 psig", "lower header 183", "y")
    assert front.text.count("Replace it with") == 1
    assert "The reading 'lower header pressure' is 182 already." in " ".join(front.text.split())
    assert value(job, "lower-pressure") == "183"


def test_a_row_typed_where_a_yes_was_asked_is_not_lost(job: ShownJob) -> None:
    front = run(job, "y", "", "f", "1 70", "2 182", "")
    assert "Not entered." in front.text
    assert "upper-pressure" not in job.session.picture.closed
    assert value(job, "lower-pressure") == "182"


def test_a_choice_typed_by_its_number_is_offered_again_in_its_words(job: ShownJob) -> None:
    front = run(job, "y", "", "190", "182", "1", "b")
    assert "Enter alone gives: open" in front.text
