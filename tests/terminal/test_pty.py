"""The real program on a real terminal: 40 columns, 20 rows, no colour."""

from __future__ import annotations

import os
import re
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from terminal_help import SMALL

from expert.store.jobs import JobStore
from expert.terminal.layout import width_of

if sys.platform == "win32":
    pytest.skip("needs a pseudo-terminal", allow_module_level=True)

from pty_child import PtyChild

COLOUR = re.compile(r"\x1b\[[0-9;]*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])[0-9;]*m")


def _child(folder: Path, *more: str) -> Iterator[PtyChild]:
    """The small checklist at its first step."""
    child = PtyChild(
        "run", str(SMALL / "checkout.yaml"), "--site", str(SMALL / "site.yaml"),
        "--subject", "A1", "--rulebase", str(SMALL / "rules"), "--jobs", str(folder),
        "--engine", "plain", *more, columns=40, rows=20,
        extra={"NO_COLOR": "1", "RACKWALK_NO_CACHE": "1", "RACKWALK_WHO": "A. Sample"},
    )  # fmt: skip
    try:
        at = child.wait_for("Enter begins")
        child.type("\r")
        child.wait_for("1/13 y/n>", at)
        yield child
    finally:
        child.end()


@pytest.fixture
def child(tmp_path: Path) -> Iterator[PtyChild]:
    yield from _child(tmp_path)


@pytest.fixture
def plain_child(tmp_path: Path) -> Iterator[PtyChild]:
    yield from _child(tmp_path, "--plain")


def _kinds(folder: Path) -> list[str]:
    with JobStore(folder / "jobs.db") as store:
        return [entry.kind for entry in store.entries(store.jobs()[0].id)]


def test_wrong_input_going_back_and_stopping_at_forty_columns(
    child: PtyChild, tmp_path: Path
) -> None:
    at = 0
    for typed, seen in (
        ("y\r", "2/13 Enter>"),
        ("\r", "3/14 psig>"),
        ("198 pisg\r", "'pisg' is not"),
        ("\x15198\r", "4/14 psig>"),
        ("b\r", "Enter alone gives: 198"),
        ("\r", "4/14 psig>"),
        ("q\r", "Stopped; all that was entered is kept."),
    ):
        child.type(typed)
        at = child.wait_for(seen, at)
    assert child.wait() == 5
    assert not COLOUR.search(child.raw)
    opening = child.text.partition("Enter begins")[0].splitlines()
    assert max(map(width_of, opening)) <= 40
    assert child.text.strip().splitlines()[-1].startswith("rackwalk resume ")
    assert _kinds(tmp_path) == [
        "depth", "acknowledge", "done", "answer", "reopen", "answer", "stop",
    ]  # fmt: skip


def test_two_ctrl_c_stop_and_keep(child: PtyChild, tmp_path: Path) -> None:
    at = len(child.text)
    child.type("y\r")
    at = child.wait_for("2/13 Enter>", at)
    child.type("dont\x03")
    at = child.wait_for("Ctrl-C again", at)
    child.type("\x03")
    child.wait_for("rackwalk resume ", at)
    assert child.wait() == 5
    assert _kinds(tmp_path) == ["depth", "acknowledge", "stop"]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_stops_in_order(child: PtyChild, tmp_path: Path, number: signal.Signals) -> None:
    child.type("y\r")
    child.wait_for("2/13 Enter>")
    os.kill(child.process.pid, number)
    assert child.wait() == 5
    assert _kinds(tmp_path) == ["depth", "acknowledge", "stop"]


def test_a_closed_terminal_loses_nothing(child: PtyChild, tmp_path: Path) -> None:
    child.type("y\r")
    child.wait_for("2/13 Enter>")
    child.hang_up()
    assert child.wait() == 5
    assert _kinds(tmp_path) == ["depth", "acknowledge", "stop"]


def test_line_by_line_draws_nothing_and_two_ctrl_c_stop(
    plain_child: PtyChild, tmp_path: Path
) -> None:
    plain_child.type("y\n")
    at = plain_child.wait_for("2/13 Enter>")
    plain_child.type("don\x03")
    at = plain_child.wait_for("The line was cleared.", at)
    at = plain_child.wait_for("2/13 Enter>", at)
    plain_child.type("\x03")
    plain_child.wait_for("rackwalk resume ", at)
    assert plain_child.wait() == 5
    assert "\x1b" not in plain_child.raw
    assert _kinds(tmp_path) == ["depth", "acknowledge", "stop"]
