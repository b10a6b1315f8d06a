"""What is wrong is told in lines that fit the terminal; files and pipes get it as it is."""

from __future__ import annotations

import sys

import pytest

from expert.cli.frame.on_standard_error import for_terminal

LONG = "rackwalk: The store Elm Street has no 'A9'. 'rackwalk site show' lists its parts."


@pytest.fixture
def narrow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)


def test_no_word_is_cut_at_the_edge(narrow: None) -> None:
    told = for_terminal(LONG)
    assert " ".join(told.split()) == LONG and "\n" in told
    assert all(len(line) <= 40 for line in told.splitlines())


def test_a_command_and_a_piece_of_a_file_stay_whole(narrow: None) -> None:
    command = "rackwalk resume 2026-11-30-A4-with-a-very-long-name-of-its-own"
    piece = "    - ask: a_quantity_with_a_long_name_that_no_rulebase_has\n      ^"
    for text in (command, piece):
        assert for_terminal(text) == text


def test_a_pipe_gets_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: False)
    assert for_terminal(LONG) == LONG
