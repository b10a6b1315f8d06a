"""A file of the form before is changed to the present one, and nothing of it is lost."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import postgres_server
import pytest

from expert.store import migrate
from expert.store.jobs import JobStore
from expert.store.postgres import open_postgres
from expert.store.schema import VERSION
from expert.store.store_errors import StoreError

FORMS = {
    form: Path(__file__).with_name(f"form_{form}.sql").read_text(encoding="utf-8")
    for form in (1, 2, 3, 4)
}
OLD = FORMS[1]


@pytest.fixture
def old(path: Path) -> Path:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(OLD)
    return path


def rows(path: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def test_every_entry_and_every_head_is_there_afterwards(old: Path) -> None:
    query = "SELECT job, seq, at, kind, step, data FROM entry ORDER BY job, seq"
    before = rows(old, query)
    heads = rows(old, "SELECT id, site_text, who, created, finished FROM job ORDER BY id")
    with JobStore(old) as store:
        jobs = {job.id: job for job in store.jobs()}
        assert [
            (job.id, job.site_text, job.who, job.created.isoformat(),
             job.finished.isoformat() if job.finished else None)
            for job in sorted(jobs.values(), key=lambda job: job.id)
        ] == heads  # fmt: skip
        assert [jobs[name].entries for name in sorted(jobs)] == [3, 1]
    assert rows(old, query) == before
    assert rows(old, "PRAGMA user_version") == [(VERSION,)]
    assert rows(old, "PRAGMA foreign_key_check") == []
    assert rows(old, "PRAGMA integrity_check") == [("ok",)]


def test_only_readings_in_force_are_in_the_index(old: Path) -> None:
    JobStore(old).close()
    assert rows(old, "SELECT name, subject, seq FROM fact") == [
        ("hot_gas_header_pressure", "A4", 3)
    ]


def test_the_file_as_it_was_is_kept_beside_it(old: Path) -> None:
    JobStore(old).close()
    copy = old.parent / "backups" / "jobs-form-1.db"
    assert rows(copy, "PRAGMA user_version") == [(1,)]
    assert rows(copy, "SELECT count(*) FROM entry") == [(4,)]


def test_copies_of_one_old_file_know_each_other_on_two_machines(old: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    other.write_bytes(old.read_bytes())
    with JobStore(old) as one, JobStore(other) as two:
        assert {job.uid for job in one.jobs()} == {job.uid for job in two.jobs()}


def test_a_job_goes_on_after_the_change(old: Path) -> None:
    with JobStore(old) as store:
        kept = store.entries("2026-03-14-A4")
        store.append("2026-03-14-A4", type(kept[0])(4, kept[0].at, "note", "", {"text": "on"}))
        assert store.get("2026-03-14-A4").entries == 4


def test_where_it_fails_the_file_is_as_it_was(old: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(connection: sqlite3.Connection) -> None:
        raise sqlite3.OperationalError("database or disk is full")

    monkeypatch.setattr(migrate, "_index", broken)
    with pytest.raises(StoreError, match="older form"):
        JobStore(old)
    assert rows(old, "PRAGMA user_version") == [(1,)]
    assert rows(old, "SELECT count(*) FROM job") == [(2,)]
    monkeypatch.undo()
    with JobStore(old) as store:
        assert len(store.jobs()) == 2


@pytest.mark.parametrize("form", FORMS)
def test_what_was_there_is_sealed_and_can_be_gone_on_with(path: Path, form: int) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(FORMS[form])
    with JobStore(path) as store:
        jobs = store.jobs()
        assert [store.altered(job.id) for job in jobs] == ["", ""]
        assert {each.who for job in jobs for each in store.entries(job.id)} == {""}
        first = store.entries("2026-03-14-A4")[0]
        store.append("2026-03-14-A4", replace(first, seq=4, who="B. Sample"))
        assert store.altered("2026-03-14-A4") == ""
        assert store.entries("2026-03-14-A4")[3].who == "B. Sample"


def test_a_server_of_the_form_before_takes_the_same_steps(postgres: str, path: Path) -> None:
    postgres_server.empty(postgres)
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(FORMS[2])
    with JobStore(path) as file, JobStore(postgres) as server:
        server.add_all((job, file.entries(job.id)) for job in file.jobs())
        sealed = {job.uid: job.chain for job in file.jobs()}
    database = open_postgres(postgres)
    with database.transaction():  # as form 2 was
        for table, column in (("entry", "who"), ("entry", "hash"), ("job", "chain")):
            database.run(f"ALTER TABLE {table} DROP COLUMN {column}")
        database.run("UPDATE form SET version = 2")
    database.close()
    with JobStore(postgres) as server:
        assert {job.uid: job.chain for job in server.jobs()} == sealed
        assert [server.altered(job.id) for job in server.jobs()] == ["", ""]
    with JobStore(postgres) as again:
        assert len(again.jobs()) == 2
