"""Dated copies: one a day when something was written, few are kept, none stands in the way."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from expert.procedure.entries import Entry
from expert.store.backup import KEPT, Backups, dated
from expert.store.job_row import Job
from expert.store.jobs import JobStore

MakeEntry = Callable[..., Entry]
DAY = datetime(2026, 11, 25, 8, tzinfo=UTC)


@pytest.fixture
def written(path: Path, job: Job, entry: MakeEntry) -> Path:
    with JobStore(path) as store:
        store.append(store.create(job), entry(1))
    return path


def made(path: Path, day: datetime) -> list[str]:
    Backups(path, day).wait()
    return [each.name for each in dated(path)]


def test_a_new_file_is_not_copied_and_the_next_opening_copies_it(written: Path) -> None:
    assert dated(written) == []
    JobStore(written).close()
    (copy,) = dated(written)
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (1,)


def test_one_a_day_and_none_where_nothing_was_written(written: Path) -> None:
    assert made(written, DAY) == ["jobs-2026-11-25.db"]
    assert made(written, DAY) == ["jobs-2026-11-25.db"]
    assert made(written, DAY + timedelta(days=1)) == ["jobs-2026-11-25.db"]


def test_the_newest_few_are_kept(written: Path) -> None:
    for number in range(KEPT + 3):
        later = datetime.now(UTC).timestamp() + 60 * (number + 1)
        os.utime(written, (later, later))
        made(written, DAY + timedelta(days=number))
    names = [each.name for each in dated(written)]
    assert len(names) == KEPT
    assert names[-1] == "jobs-2026-12-04.db"


def test_a_copy_is_read_like_any_job_file(written: Path, tmp_path: Path) -> None:
    made(written, DAY)
    (copy,) = dated(written)
    with JobStore(copy) as store:
        assert [job.entries for job in store.jobs()] == [1]


def test_no_copy_is_made_where_it_would_fill_the_disk(
    written: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Usage:
        free = written.stat().st_size

    monkeypatch.setattr("shutil.disk_usage", lambda folder: Usage)
    assert made(written, DAY) == []


def test_a_copy_that_breaks_off_leaves_nothing_behind(
    written: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(self: Path, target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    assert made(written, DAY) == []
    assert list((written.parent / "backups").iterdir()) == []


def test_what_a_killed_program_left_half_made_is_taken_away(written: Path) -> None:
    folder = written.parent / "backups"
    folder.mkdir()
    left = folder / "jobs-2026-11-20.db.4194305.part"  # beyond the largest id of a process
    being_made = folder / f"jobs-2026-11-21.db.{os.getpid()}.part"
    for each in (left, being_made):
        each.write_bytes(b"half")
    made(written, DAY)
    assert not left.exists() and being_made.exists()
