"""Which front end is chosen."""

from __future__ import annotations

import io
import os
import threading
from types import SimpleNamespace

import pytest

from expert.terminal import choose
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import Layout
from expert.terminal.line_by_line import PlainFront


@pytest.fixture
def on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = SimpleNamespace(isatty=lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv(choose.VARIABLE, raising=False)
    monkeypatch.setattr(choose, "sys", SimpleNamespace(stdin=terminal, stdout=terminal))


def test_without_a_terminal_it_is_line_by_line() -> None:
    assert isinstance(choose.open_front(), PlainFront)


@pytest.mark.usefixtures("on_a_terminal")
def test_a_dumb_terminal_is_served_line_by_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    assert isinstance(choose.open_front(), PlainFront)


@pytest.mark.usefixtures("on_a_terminal")
def test_plain_is_given_when_asked_for() -> None:
    assert isinstance(choose.open_front(plain=True), PlainFront)


class Lines:
    """A prompt that is loaded: it answers everything with the label of the question."""

    layout = Layout(63)

    def ask(self, question: Question) -> str:
        return question.label


@pytest.fixture
def typed(on_a_terminal: None, monkeypatch: pytest.MonkeyPatch) -> io.StringIO:
    """What is read from the terminal, which is 70 columns wide."""
    read = io.StringIO()
    monkeypatch.setattr("sys.stdin", SimpleNamespace(isatty=lambda: True, readline=read.readline))
    monkeypatch.setattr("os.get_terminal_size", lambda _: os.terminal_size((70, 24)))
    return read


def test_a_terminal_that_cannot_be_opened_falls_back_and_says_why(
    typed: io.StringIO, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("no console screen buffer")

    monkeypatch.setattr("expert.terminal.prompt.PromptFront.__init__", broken)
    typed.write("one\ntwo\nthree\n")
    typed.seek(0)
    front = choose.open_front()
    asked = [front.ask(Question(f"{number}> ", check=str)) for number in range(3)]
    assert asked == ["one", "two", "three"]
    assert " ".join(capsys.readouterr().out.split()).count("no console screen buffer") == 1


def test_a_bare_first_question_is_asked_before_the_prompt_is_loaded(
    typed: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.terminal.prompt.PromptFront", Lines)
    typed.write("first\nsecond\n")
    typed.seek(0)
    front = choose.open_front()
    meanwhile = threading.Event()
    assert front.layout.columns == 70
    assert front.ask(Question("begin> ", meanwhile=meanwhile.set)) == "first"
    assert meanwhile.wait(30)
    assert front.ask(Question("next> ")) == "next> "
    assert front.layout.columns == 63


@pytest.mark.parametrize(
    "question", [Question("a> ", check=str), Question("a> ", status=lambda _: "state")]
)
def test_a_question_that_shows_more_is_asked_by_the_prompt(
    typed: io.StringIO, monkeypatch: pytest.MonkeyPatch, question: Question
) -> None:
    monkeypatch.setattr("expert.terminal.prompt.PromptFront", Lines)
    typed.write("not read\n")
    typed.seek(0)
    assert choose.open_front().ask(question) == "a> "


def test_ctrl_c_ends_whichever_question_waits(
    typed: io.StringIO, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.terminal.prompt.PromptFront", Lines)
    front = choose.open_front()
    with pytest.raises(KeyboardInterrupt):
        front.interrupt()
    with pytest.raises(LeaveError):
        front.leave()
