"""What is shown of a called checklist and of the members of a phase that is run for each."""

from __future__ import annotations

from pathlib import Path

import pytest
from rack_job import CALLED, RackJob
from terminal_help import TypedFront


@pytest.fixture
def job(tmp_path: Path) -> RackJob:
    return RackJob(tmp_path)


def test_a_call_says_which_checklist_comes_and_what_it_needs(job: RackJob) -> None:
    text = job.run()
    assert "The headers first." in text
    assert "Now comes: Header pressures." in text
    assert "Tools: two probes" in text


def test_the_steps_of_a_called_checklist_name_it(job: RackJob) -> None:
    assert "Header pressures: Read (as found)" in job.run("")


def test_a_call_is_left_out_with_a_reason(job: RackJob) -> None:
    job.run("", "b", "s", "read this morning")
    assert job.key == "each~"


def test_the_members_are_listed_to_choose_from(job: RackJob) -> None:
    text = job.run(*CALLED)
    assert "Which circuits?" in text
    assert "- A1, Frozen doors" in text
    assert "Press Enter for all" in text


def test_a_member_whose_name_is_a_command_can_be_chosen(job: RackJob) -> None:
    job.run(*CALLED, "b")
    assert job.session.picture.closed["each~"].members == ("B",)
    assert job.key == "hot~B"


def test_the_step_of_a_member_names_it(job: RackJob) -> None:
    assert "Each circuit, A1, Frozen doors (as found)" in job.run(*CALLED, "")


def test_the_limit_shown_is_that_of_the_member(job: RackJob) -> None:
    text = job.run(*CALLED, "", "y", "open", "")
    assert "Expected: at most 30.0 min (site: legend)" in text
    text = job.run("20 min", "", "y", "open", "")
    assert "Expected: at most 18.0 min (from memory)" in text


def test_the_answer_of_a_member_is_judged_by_its_own_limit(job: RackJob) -> None:
    text = job.run(*CALLED, "", "y", "open", "", "20 min")
    assert "Kept: 20.0 min +/- 1.0, normal" in text
    assert "Kept: 20.0 min +/- 1.0, HIGH" in job.run("", "y", "open", "", "20 min")


def test_on_a_member_only_its_own_findings_are_thought_of(job: RackJob) -> None:
    text = job.run(*CALLED, "A1, B", "y", "open", "", "40 min")
    assert "What we think so far (as found, A1):" in text
    assert "Coil clears slowly" in text
    assert "B, Ice cream" not in text.partition("What we think so far")[2]


def test_at_the_end_findings_stand_under_their_member(job: RackJob) -> None:
    walked = ("A1, B", "y", "open", "", "40 min", "", "y", "open", "", "10 min", "")
    job.run(*CALLED, *walked)
    assert job.key == "at-the-end"
    own, _, members = job.run().partition("A1, Frozen doors:")
    assert "Regulator set too low" in own
    assert "Coil clears slowly" in members
    assert "Regulator set too low" not in members
    assert "B, Ice cream: nothing of its own speaks for a fault" in members


def test_the_ending_names_the_member_of_each_finding(job: RackJob) -> None:
    text = job.run(*CALLED, "A1", "y", "open", "", "40 min", "", "")
    assert job.session.finished
    ending = "\n".join(job.texts.ending(job.session.picture, TypedFront(()).layout))
    assert "A1: Coil clears slowly: likely" in ending
    assert "Coil clears slowly" in text


def test_a_member_is_left_out_from_the_question_how_to_skip(job: RackJob) -> None:
    text = job.run(*CALLED, "", "y", "s", "2", "door locked")
    assert "1 skips this step, 2 leaves out what is still to be done on A1." in text
    assert job.key == "hot~B"


def test_a_caution_on_a_member_may_be_answered_no_or_the_member_left_out(job: RackJob) -> None:
    text = job.run(*CALLED, "", "s", "1", "")
    assert "1 skips this step, 2 leaves out what is still to be done on A1" in text
    job.run("s", "2", "door locked")
    assert job.key == "hot~B"


def test_the_list_of_steps_names_members_and_what_was_chosen(job: RackJob) -> None:
    text = job.run(*CALLED, "A1", "y", "c", "")
    assert "Each circuit, A1 (as found):" in text
    assert "Which circuits: A1" in text
