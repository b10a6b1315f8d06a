"""What is no error in the program ends in a sentence and exit code 6, whatever was asked for."""

from __future__ import annotations

import errno
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from expert.store.jobs import JobStore
from expert.store.schema import VERSION

from .small_job import SMALL, Command, lines, run_words

COMMANDS = ("run", "jobs", "report", "audit")
CHECKOUT = str(SMALL / "checkout.yaml")
RULES = ("--rulebase", str(SMALL / "rules"), "--engine", "plain")


def words_of(name: str, jobs: str) -> list[str]:
    if name == "run":
        return run_words(Path("."), "--jobs", jobs)
    more = {"jobs": (), "report": ("2026-01-01-A1", *RULES), "audit": RULES}[name]
    return [name, *more, "--jobs", jobs]


def newer(folder: Path) -> str:
    JobStore(folder / "jobs.db").close()
    with closing(sqlite3.connect(folder / "jobs.db")) as other:
        other.execute(f"PRAGMA user_version = {VERSION + 1}")
    return str(folder)


def of_another_program(folder: Path) -> str:
    with closing(sqlite3.connect(folder / "jobs.db")) as other:
        other.execute("CREATE TABLE songs (title TEXT)")
    return str(folder)


def no_database(folder: Path) -> str:
    (folder / "jobs.db").write_text("dear diary " * 500, encoding="utf-8")
    return str(folder)


def out_of_reach(folder: Path) -> str:
    pytest.importorskip("sqlalchemy")
    pytest.importorskip("psycopg")
    return "postgresql://nobody@/none?host=/nowhere"


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (newer, "newer rackwalk"), (of_another_program, "another program"),
        (no_database, "not a job file"), (out_of_reach, "Cannot reach the job server"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("name", COMMANDS)
def test_jobs_that_cannot_be_read_end_in_a_sentence(
    command: Command, tmp_path: Path, name: str, make: Callable[[Path], str], told: str
) -> None:
    done = command(*words_of(name, make(tmp_path)), typed=lines())
    assert done.code == 6, done.err
    assert told in " ".join(done.err.split())
    assert done.err.startswith("rackwalk: ")
    assert "error in the program" not in done.err


@pytest.fixture
def full(command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The id of a finished job on a disk on which no further file can be begun."""
    assert command(*run_words(tmp_path), typed=lines()).code == 0
    with JobStore(tmp_path / "jobs.db") as store:
        (job,) = store.jobs()
    begin = os.open

    def no_room(path: object, flags: int, *more: int) -> int:
        if flags & os.O_CREAT:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), path)
        return begin(path, flags, *more)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "open", no_room)
    return job.id


@pytest.mark.parametrize(
    "words",
    [
        ("report", "{1}", "--output", "{0}/r.html", "--checklist-file", CHECKOUT),
        ("audit", "--html", "{0}/a.html"), ("audit", "--csv", "{0}/a.csv"),
    ],
)  # fmt: skip
def test_a_file_for_which_there_is_no_room_is_named(
    command: Command, full: str, tmp_path: Path, words: tuple[str, ...]
) -> None:
    done = command(
        *(word.format(tmp_path, full) for word in words), *RULES, "--jobs", str(tmp_path)
    )
    assert done.code == 6, done.err
    assert "No space left" in done.err
    assert "error in the program" not in done.err


def test_a_full_disk_that_nobody_expected_is_still_no_error_in_the_program(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("expert.store.find_jobs.listed", no_room)
    JobStore(tmp_path / "jobs.db").close()
    done = command("audit", "--jobs", str(tmp_path))
    assert done.code == 6, done.err
    assert done.err == "rackwalk: The output cannot be written: No space left on device.\n"


def test_a_job_file_that_was_moved_away_is_not_said_to_be_kept(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def moved_and_stopped(*_: object) -> bool:
        (tmp_path / "jobs.db").rename(tmp_path / "aside.db")
        return False

    monkeypatch.setattr("expert.terminal.dialogue.Dialogue.run", moved_and_stopped)
    done = command(*run_words(tmp_path), typed=lines())
    assert done.code == 6
    assert "is kept" not in done.out
    assert "moved, replaced or deleted" in done.err
