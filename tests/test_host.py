"""What differs between systems, with the calls of Windows replaced: they are not run on Windows."""

from __future__ import annotations

import ctypes
import io
import os
import signal
import subprocess
import sys
from typing import Any

import pytest

from expert import host


class Kernel:
    """The calls of Windows that are made, over a table of processes and their exit codes."""

    def __init__(self, codes: dict[int, int], denied: int = 0) -> None:
        self.codes, self.denied, self.closed = codes, denied, 0

    def OpenProcess(self, wanted: int, inherit: bool, pid: int) -> int:  # noqa: N802
        return pid if pid in self.codes else 0

    def GetLastError(self) -> int:  # noqa: N802
        return self.denied

    def GetExitCodeProcess(self, handle: int, code: Any) -> int:  # noqa: N802
        code._obj.value = self.codes[handle]
        return 1

    def CloseHandle(self, handle: int) -> None:  # noqa: N802
        self.closed += 1


@pytest.mark.parametrize(
    ("pid", "denied", "runs"), [(1, 0, True), (2, 0, False), (3, 0, False), (3, 5, True)]
)
def test_a_process_of_windows_runs_while_it_has_no_exit_code(
    monkeypatch: pytest.MonkeyPatch, pid: int, denied: int, runs: bool
) -> None:
    kernel = Kernel({1: 259, 2: 0}, denied)
    windll = type("windll", (), {"kernel32": kernel})
    monkeypatch.setattr(ctypes, "windll", windll, raising=False)
    assert host._runs_on_windows(pid) is runs
    assert kernel.closed == (pid in kernel.codes)


def test_a_process_of_this_system_runs_until_it_ends() -> None:
    assert host.runs(os.getpid())
    with subprocess.Popen([sys.executable, "-c", ""]) as child:
        child.wait()
    assert not host.runs(child.pid)


def test_only_signals_that_the_system_has_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(signal, "SIGHUP", raising=False)
    monkeypatch.setattr(signal, "SIGBREAK", 21, raising=False)
    assert host.leaving_signals() == (signal.SIGTERM, 21)


@pytest.mark.parametrize("encoding", ["cp437", "cp1252", "ascii"])
def test_a_console_that_cannot_show_a_sign_does_not_end_the_program(
    monkeypatch: pytest.MonkeyPatch, encoding: str
) -> None:
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding=encoding))
    host.steady_streams()
    sys.stdout.write("20 \N{DEGREE SIGN}F \N{GREEK CAPITAL LETTER DELTA}\n")
    sys.stdout.flush()
    assert raw.getvalue().endswith(b"\n")


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "cp1252"])
def test_what_comes_in_in_another_encoding_does_not_end_the_program(
    monkeypatch: pytest.MonkeyPatch, encoding: str
) -> None:
    typed = io.TextIOWrapper(io.BytesIO(b"J\x81rgen\n"), encoding=encoding)
    monkeypatch.setattr(sys, "stdin", typed)
    host.steady_streams()
    assert input() == "J\ufffdrgen"
