"""The command, run inside the test."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from expert.cli.frame.settings import COMPANY_FILE, USER_FILE

from .small_job import Command


@pytest.fixture
def command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> Iterator[Command]:
    """Runs the command; what it does to signals is undone."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("RACKWALK_WHO", raising=False)
    for whose in (USER_FILE, COMPANY_FILE):  # what one test keeps is not there in the next
        monkeypatch.setenv(whose, str(tmp_path / f"{whose.lower()}.yaml"))
    kept = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGHUP)}
    yield Command(monkeypatch, capsys)
    for number, handler in kept.items():
        signal.signal(number, handler)
