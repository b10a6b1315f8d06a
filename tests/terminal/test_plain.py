"""The line-by-line front end."""

from __future__ import annotations

import io

import pytest
from terminal_help import WALK, ShownJob

from expert.host import shows_only_ascii
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import LeaveError, Question
from expert.terminal.line_by_line import PlainFront


def _front(typed: str) -> tuple[PlainFront, io.StringIO]:
    sink = io.StringIO()
    return PlainFront(io.StringIO(typed), sink), sink


def test_a_piped_line_is_read_and_shown_after_its_label() -> None:
    front, sink = _front("198 psig\n")
    assert front.ask(Question("psig> ")) == "198 psig"
    assert sink.getvalue() == "psig> 198 psig\n"


def test_the_end_of_the_input_leaves() -> None:
    front, _ = _front("")
    with pytest.raises(LeaveError):
        front.ask(Question("> "))


def test_the_last_line_counts_without_a_line_end() -> None:
    front, _ = _front("198")
    assert front.ask(Question("> ")) == "198"


def test_a_byte_order_mark_before_the_first_line_is_dropped() -> None:
    front, _ = _front("\ufeffy\r\n")
    assert front.ask(Question("> ")) == "y"


def test_output_that_nobody_reads_any_more_leaves() -> None:
    class Closed(io.StringIO):
        def write(self, text: str) -> int:
            raise BrokenPipeError

    with pytest.raises(LeaveError):
        PlainFront(io.StringIO("y\n"), Closed()).show(["line"])


def test_what_is_shown_is_ascii_where_the_encoding_asks_for_it() -> None:
    stream = io.TextIOWrapper(io.BytesIO(), encoding="cp1252")
    assert shows_only_ascii(stream)
    assert PlainFront(io.StringIO(), stream).layout.ascii_only
    assert not shows_only_ascii(io.TextIOWrapper(io.BytesIO(), encoding="utf-8"))


def test_the_whole_checklist_runs_from_piped_lines(job: ShownJob) -> None:
    front, sink = _front("\n".join(WALK) + "\n")
    assert Dialogue(job.session, job.texts, front).run()
    assert "\x1b" not in sink.getvalue()
    assert "= Push through the coil: 8.0 psi" in sink.getvalue()


def test_nothing_shown_is_ever_taken_back(job: ShownJob) -> None:
    front, sink = _front("y\nb\n\nyes\n\n")
    Dialogue(job.session, job.texts, front).run()
    assert not {"\r", "\b", "\x1b"} & set(sink.getvalue())
