"""The command, run inside the test."""

from __future__ import annotations

import signal
from collections.abc import Iterator

import pytest

from .small_job import Command


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Nothing is kept in the user's own cache folder."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@pytest.fixture
def command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Iterator[Command]:
    """Runs the command; what it does to signals is undone."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.delenv("RACKWALK_WHO", raising=False)
    kept = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGHUP)}
    yield Command(monkeypatch, capsys)
    for number, handler in kept.items():
        signal.signal(number, handler)
