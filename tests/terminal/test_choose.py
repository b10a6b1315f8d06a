"""Which front end is chosen."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from expert.terminal import choose
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


@pytest.mark.usefixtures("on_a_terminal")
def test_a_terminal_that_cannot_be_opened_falls_back_and_says_why(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("no console screen buffer")

    monkeypatch.setattr("expert.terminal.prompt.PromptFront.__init__", broken)
    assert isinstance(choose.open_front(), PlainFront)
    assert "no console screen buffer" in " ".join(capsys.readouterr().out.split())


@pytest.mark.usefixtures("on_a_terminal")
def test_on_a_terminal_it_is_the_prompt(monkeypatch: pytest.MonkeyPatch) -> None:
    from expert.terminal.prompt import PromptFront

    monkeypatch.setattr(PromptFront, "__init__", lambda self: None)
    assert isinstance(choose.open_front(), PromptFront)
