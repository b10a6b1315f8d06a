"""The small checklist of the terminal's tests, driven through the command."""

from __future__ import annotations

import io
import re
import select
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from expert.cli.frame.main import main

SMALL = Path(__file__).parents[1] / "terminal" / "small"

# What is typed at each step of the small checklist, one group of lines a step.
WALK = (
    ("y",), ("",), ("190",), ("182",), ("open",), ("",), ("20 F",), ("1",), ("40 F",), ("2",),
    ("24 min", "typed later"), ("",), ("",), ("y",), ("y",), ("stem", "0 turns", "1 turn"),
    ("196 psig",), ("180",), ("n",), ("all well",), ("",), ("A. Sample",),
)  # fmt: skip
LABEL = re.compile(r"^\d+/\d+ [^>\n]*> ", re.MULTILINE)


def lines(groups: tuple[tuple[str, ...], ...] = WALK) -> str:
    """The groups as one text to be piped in."""
    return "".join(f"{line}\n" for group in groups for line in group)


def run_words(jobs: Path, *more: str, subject: str = "A1") -> list[str]:
    """The words of `rackwalk run` for the small checklist."""
    return [
        "run", str(SMALL / "checkout.yaml"), "--site", str(SMALL / "site.yaml"),
        *(["--subject", subject] if subject else []), "--rulebase", str(SMALL / "rules"),
        "--jobs", str(jobs), "--engine", "plain", "--depth", "learning", *more,
    ]  # fmt: skip


def resume_words(jobs: Path, *more: str) -> list[str]:
    """The words of `rackwalk resume` for the small checklist."""
    return [
        "resume", *more, "--jobs", str(jobs), "--rulebase", str(SMALL / "rules"),
        "--checklist-file", str(SMALL / "checkout.yaml"), "--engine", "plain",
    ]  # fmt: skip


@dataclass(frozen=True)
class Printed:
    """What a command gave."""

    code: int
    out: str
    err: str

    @property
    def last(self) -> str:
        """The last line of stdout."""
        return self.out.rstrip("\n").rpartition("\n")[2]


@dataclass
class Command:
    """Runs the command inside this process, with lines piped in."""

    monkeypatch: pytest.MonkeyPatch
    capsys: pytest.CaptureFixture[str]

    def __call__(self, *words: str, typed: str = "") -> Printed:
        self.capsys.readouterr()
        self.monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        try:
            code = main(words)
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        captured = self.capsys.readouterr()
        return Printed(code, captured.out, captured.err)


class Child:
    """The command as a process of its own, line by line, to be killed."""

    def __init__(self, *words: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "expert", *words],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0,
        )  # fmt: skip
        self.text = ""

    def wait_for_label(self, seconds: float = 20.0) -> str:
        """The next prompt, once it is there; empty when the process ended."""
        seen = len(LABEL.findall(self.text))
        assert self._process.stdout is not None
        end = time.monotonic() + seconds
        while len(found := LABEL.findall(self.text)) <= seen:
            if not select.select([self._process.stdout], [], [], end - time.monotonic())[0]:
                raise TimeoutError(self.text)
            data = self._process.stdout.read(65536)
            if not data:
                return ""
            self.text += data.decode()
        return str(found[-1])

    def type(self, group: tuple[str, ...]) -> None:
        """Types lines."""
        assert self._process.stdin is not None
        self._process.stdin.write("".join(f"{line}\n" for line in group).encode())

    def kill(self) -> None:
        """Ends it as a power cut would."""
        self._process.kill()
        self._close()

    def wait(self) -> int:
        """Waits for its end; gives the exit code."""
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.close()
        self.text += self._process.stdout.read().decode()
        self._close()
        return self._process.returncode

    def _close(self) -> None:
        assert self._process.stdin is not None and self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(20)
        self._process.stdout.close()
