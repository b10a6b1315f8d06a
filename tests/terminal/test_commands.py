"""Which lines are commands and which are answers."""

from __future__ import annotations

from dataclasses import replace

import pytest
from terminal_help import ShownJob

from expert.terminal.commands import command_in, letter


def _command(job: ShownJob, text: str) -> str:
    active = job.session.current
    assert active is not None
    return command_in(text, active, job.runner.rulebase)


@pytest.mark.parametrize("text", ["?", "b", "s", "n", "p", "t", "c", "q", "B", " q "])
def test_a_single_letter_is_a_command_where_a_number_is_asked(job: ShownJob, text: str) -> None:
    job.answer("y", "")
    assert _command(job, text) == text.strip().lower()


@pytest.mark.parametrize(
    ("text", "meant"), [("back", "b"), ("skip", "s"), ("help", "?"), ("list", "c"), ("stop", "q")]
)
def test_the_whole_word_is_a_command_too(job: ShownJob, text: str, meant: str) -> None:
    job.answer("y", "")
    assert _command(job, text) == meant


def test_n_means_no_where_yes_or_no_is_asked(job: ShownJob) -> None:
    assert job.key == "hot"
    assert _command(job, "n") == ""
    assert _command(job, "note") == "n"
    assert letter("n", job.session.current, job.runner.rulebase) == "note"  # type: ignore[arg-type]


def test_a_phrase_of_the_choices_is_an_answer(job: ShownJob) -> None:
    job.answer("y", "", "190", "182")
    assert job.key == "valve"
    assert _command(job, "shut") == ""
    assert _command(job, "s") == "s"


def test_a_phrase_that_is_also_a_command_is_an_answer(job: ShownJob) -> None:
    job.answer("y", "", "190", "182")
    active, base = job.session.current, job.runner.rulebase
    assert active is not None
    asked = replace(base.quantities[active.quantity], choices=("back", "list", "s"))
    clash = replace(base, quantities={**base.quantities, active.quantity: asked})
    assert [command_in(text, active, clash) for text in ("back", "List", "s")] == ["", "", ""]
    assert [command_in(text, active, clash) for text in ("b", "skip")] == ["b", "s"]


def test_words_are_answers_where_words_are_asked(job: ShownJob) -> None:
    job.answer("y", "", "190", "182", "open", "", "20", "2", "24 min", "", "", "no")
    assert job.key == "remark"
    assert _command(job, "back") == ""
    assert _command(job, "b") == "b"
