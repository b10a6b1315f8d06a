"""What is shown at a step."""

from __future__ import annotations

from datetime import timedelta

import pytest
from terminal_help import WALK, ShownJob

from expert.terminal.layout import width_of


def _text(job: ShownJob, columns: int = 80) -> str:
    return "\n".join(job.texts.step(job.at(columns)))


def test_a_step_says_where_we_are(job: ShownJob) -> None:
    assert _text(job).startswith("Step 1 of 1")
    assert "Before you start (as found)" in _text(job)


def test_a_caution_shows_title_sentences_and_question(job: ShownJob) -> None:
    text = _text(job)
    for part in ("CAUTION: Hot surfaces", "Pipes run at 200 °F.", "Are your gloves on?"):
        assert part in text


def test_a_reading_says_what_where_and_with_which_instrument(job: ShownJob) -> None:
    job.answer("y", "")
    text = _text(job)
    for part in (
        "Upper header pressure",
        "Where: upper header in the motor room",
        "With: pressure probe",
    ):
        assert part in text


def test_how_is_shown_to_the_newer_and_kept_for_the_question_mark_otherwise() -> None:
    newer, experienced = ShownJob(depth="learning"), ShownJob(depth="working")
    for job in (newer, experienced):
        job.answer("y", "")
    assert "How: Crack the cap slowly." in _text(newer)
    assert "Crack" not in _text(experienced)
    assert "How: Crack the cap slowly." in "\n".join(experienced.texts.help(experienced.at()))


def test_the_limit_stands_there_with_its_source(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20", "clear")
    assert "Expected: at most 18.0 min (from memory)" in _text(job)


def test_help_gives_the_reason_what_is_accepted_and_the_letters(job: ShownJob) -> None:
    job.answer("y", "")
    text = "\n".join(job.texts.help(job.at()))
    assert "Why: Half of the difference." in text
    assert "psig" in text
    assert "b back one step" in text


def test_choices_are_numbered(job: ShownJob) -> None:
    job.answer("y", "", "190", "182")
    assert "1 open: the pipe turns hot" in _text(job)
    assert job.texts.label(job.at().active).endswith("1-2> ")


def test_the_prompt_names_the_unit_and_stays_short(job: ShownJob) -> None:
    job.answer("y", "")
    label = job.texts.label(job.at().active)
    assert label.endswith(" psig> ")
    assert len(label) <= 24


def test_metric_users_are_asked_for_metric_units() -> None:
    job = ShownJob(system="si")
    job.answer("y", "")
    assert job.texts.label(job.at().active).endswith(" bar> ")


def test_an_answer_is_shown_back_in_both_unit_systems(job: ShownJob) -> None:
    job.answer("y", "")
    assert job.after("190") == ["Kept: 190.0 psig +/- 1.0 (13.10 bar)"]


def test_a_value_computed_from_the_answer_is_shown_with_its_state(job: ShownJob) -> None:
    job.answer("y", "", "190")
    shown = job.after("182")
    told = " ".join(" ".join(shown).split())
    assert "= Push through the coil: 8.0 psi +/- 1.4. LOW; normal here is 15.0 to 20.0 psi" in told
    assert "(common practice)" in told


def test_nothing_is_said_of_computed_values_that_did_not_change(job: ShownJob) -> None:
    job.answer("y", "", "190", "182")
    shown = job.after("open")
    assert shown == ["Kept: open"]


def test_the_earlier_answer_is_offered_after_going_back(job: ShownJob) -> None:
    job.answer("y", "", "190")
    job.session.back()
    assert "Enter alone gives: 190" in _text(job)


def test_a_watch_shows_the_running_clock_and_the_next_sample(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "")
    job.clock.at += timedelta(seconds=30)
    text = _text(job)
    assert "Sample 1 of at most 4" in text
    assert "Clock: 0:30 since the start; this sample at 2:00, due in 1:30" in text


def test_a_sample_that_is_late_is_called_due(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "")
    job.clock.at += timedelta(minutes=3)
    assert "this sample at 2:00, due now" in _text(job)


def test_a_later_sample_shows_the_one_before(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20 F", "still frosted")
    assert "Last sample: 20 F" in _text(job)


def test_the_clock_is_offered_as_the_time(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20 F", "clear")
    assert "Enter alone gives: the clock's time, now" in _text(job)


def test_a_show_step_gives_formula_inputs_and_limit(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20 F", "clear", "24 min")
    text = _text(job)
    assert "how: upper pressure - lower pressure" in text
    assert "- upper header pressure 190.0 psig +/- 1.0" in text
    assert "normal here is 15.0 to 20.0 psi (common practice)" in " ".join(text.split())


def test_a_value_that_cannot_be_computed_says_why(job: ShownJob) -> None:
    job.answer("y", "")
    job.session.skip("no port there")
    job.answer("182", "open", "", "20 F", "clear", "24 min")
    assert "Push through the coil: not known; upper header pressure not known" in _text(job)


def test_thoughts_name_cause_certainty_reasons_and_the_next_reading(job: ShownJob) -> None:
    job.answer("y", "", "190", "182")
    text = "\n".join(job.texts.thinking(job.at()))
    assert "1 Regulator set too low: likely" in text
    assert "It stands too low." in text
    assert "clearing time. It would speak for or against 'Regulator set too low'." in " ".join(
        text.split()
    )


def test_without_evidence_nothing_is_called_well(job: ShownJob) -> None:
    text = "\n".join(job.texts.thinking(job.at()))
    assert "Nothing speaks for a fault yet. What was not measured is not judged." in text


def test_what_is_opened_is_announced_and_put_back_by_name(job: ShownJob) -> None:
    job.answer("y")
    assert "To be put back later: schedule held off" in _text(job)


@pytest.mark.parametrize("columns", [40, 80])
def test_every_step_of_the_checklist_fits_the_screen(columns: int) -> None:
    job = ShownJob()
    lines = list(WALK[:13])
    while job.session.current is not None and lines:
        at = job.at(columns)
        shown = [*job.texts.step(at), *job.texts.help(at), *job.texts.thinking(at)]
        assert all(width_of(line) <= columns for line in shown)
        job.answer(lines.pop(0))


def test_without_unicode_everything_is_ascii(job: ShownJob) -> None:
    assert all(line.isascii() for line in job.texts.step(job.at(40, ascii_only=True)))
