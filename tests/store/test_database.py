from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.schema import VERSION
from expert.store.store_errors import StoreError

MakeEntry = Callable[..., Entry]


@pytest.fixture
def store(path: Path) -> Iterator[JobStore]:
    with JobStore(path) as opened:
        yield opened


def test_the_file_is_written_ahead_and_fully_synchronised(store: JobStore) -> None:
    def pragma(name: str) -> object:
        return store.database.connection.execute(f"PRAGMA {name}").fetchone()[0]

    assert pragma("journal_mode") == "wal"
    assert pragma("synchronous") == 2  # FULL
    assert pragma("foreign_keys") == 1


def test_every_entry_is_its_own_transaction(
    path: Path, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    store.append(job_id, entry(1))
    assert not store.database.connection.in_transaction
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("SELECT count(*) FROM entry").fetchone() == (1,)


def test_a_file_that_is_no_database_is_refused_and_left_alone(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("dear diary " * 500, encoding="utf-8")
    with pytest.raises(StoreError, match="damaged or not a job file"):
        JobStore(path)
    assert path.read_text(encoding="utf-8").startswith("dear diary")


def test_a_database_of_another_program_is_refused(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE songs (title TEXT)")
    with pytest.raises(StoreError, match="another program"):
        JobStore(path)


def test_a_newer_form_is_refused(path: Path) -> None:
    JobStore(path).close()
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"PRAGMA user_version = {VERSION + 1}")
    with pytest.raises(StoreError, match="newer rackwalk"):
        JobStore(path)


@pytest.mark.parametrize("first", [2, 14], ids=["the list of jobs too", "only entries"])
def test_damage_inside_the_file_is_found_on_opening(
    path: Path, job: Job, entry: MakeEntry, first: int
) -> None:
    with JobStore(path) as store:
        job_id = store.create(job)
        for seq in range(1, 200):
            store.append(job_id, entry(seq))
    content = bytearray(path.read_bytes())
    size = int.from_bytes(content[16:18], "big")
    for page in range(first, len(content) // size):
        content[page * size : page * size + 60] = os.urandom(60)
    path.write_bytes(content)
    if first == 2:
        with pytest.raises(StoreError, match="damaged.*rackwalk jobs rescue"):
            JobStore(path)
        assert path.read_bytes() == content
        return
    with JobStore(path) as store:
        assert "damaged" in store.read_only
        assert "rackwalk jobs rescue" in store.read_only
        with pytest.raises(StoreError, match="Not saved: .*damaged"):
            store.create(job)
    assert path.read_bytes() == content


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(StoreError, match="Cannot open the job file .*--jobs FOLDER"):
        JobStore(tmp_path / "file" / "jobs.db")


def test_what_cannot_be_written_is_said_to_be_not_saved(
    store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    store.database.connection.execute("PRAGMA query_only = ON")
    with pytest.raises(StoreError, match="Not saved"):
        store.append(job_id, entry(1))
    store.database.connection.execute("PRAGMA query_only = OFF")
    store.append(job_id, entry(1))
    assert store.entries(job_id) == (entry(1),)
