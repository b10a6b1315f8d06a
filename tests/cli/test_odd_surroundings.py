"""What surrounds the command is odd: closed streams, files for folders, lines without end."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from expert.errors import Place, Problem
from expert.host import steady_streams

from .small_job import Command, run_words


@pytest.mark.skipif(os.name != "posix", reason="a shell of POSIX")
@pytest.mark.parametrize(("closed", "code"), [("<&-", 5), (">&- 2>&- </dev/null", 5)])
def test_a_stream_that_was_closed_is_empty(closed: str, code: int, tmp_path: Path) -> None:
    words = " ".join(run_words(tmp_path / "jobs"))
    done = subprocess.run(
        ["sh", "-c", f"'{sys.executable}' -m expert {words} {closed}"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == code
    assert "error in the program" not in done.stderr + done.stdout
    # what is printed went nowhere, and so not into the file of the jobs either
    assert (tmp_path / "jobs" / "jobs.db").read_bytes().startswith(b"SQLite format 3")


def test_a_closed_stream_is_replaced_by_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("stdin", "stdout", "stderr"):
        monkeypatch.setattr(sys, name, None)
    steady_streams()
    opened = (sys.stdin, sys.stdout, sys.stderr)
    monkeypatch.undo()
    assert opened[0].read() == ""
    for stream in opened:
        stream.close()


def test_a_file_is_no_folder_of_jobs(command: Command, tmp_path: Path) -> None:
    file = tmp_path / "letter.txt"
    file.write_text("text", encoding="utf-8")
    done = command("jobs", "--jobs", str(file))
    assert done.code == 2
    assert f"{file} is a file" in done.err


def test_an_option_that_is_not_known_is_told_with_the_nearest(command: Command) -> None:
    done = command("list", "--jsn")
    assert done.code == 2
    assert "Did you mean '--json'?" in done.err


def test_of_a_line_without_end_only_what_is_wrong_is_shown(tmp_path: Path) -> None:
    path = tmp_path / "long.yaml"
    path.write_text("a: " + "x" * 5000 + "HERE" + "x" * 5000 + "\n", encoding="utf-8")
    shown, pointer = Problem("code", "Wrong.", Place(str(path), 1, 5004)).excerpt().split("\n")
    assert len(shown) < 200
    assert shown[pointer.index("^") :].startswith("HERE")


@pytest.mark.parametrize(
    "words", [("calc", "superheat", "R-449A", "--pressure=--"), ("jobs", "--site=--")]
)
def test_two_dashes_are_no_value(command: Command, words: tuple[str, ...]) -> None:
    done = command(*words)
    assert done.code == 2
    assert "'--' is no value" in done.err
