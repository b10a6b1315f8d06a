"""A damaged job file: what can be read of it is saved, and what is lost is said in sentences."""

from __future__ import annotations

import os
import random
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from expert.cli.frame.main import main
from expert.procedure.entries import Entry
from expert.store.backup import copy_to
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.rescue import rescue
from expert.store.store_errors import StoreError

MakeEntry = Callable[..., Entry]
NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
SEEDS = range(200 if NIGHTLY else 8)
JOBS, ENTRIES = 6, 40
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of a job file that was closed in order."""
    path = tmp_path_factory.mktemp("sound") / "jobs.db"
    with JobStore(path) as store:
        for number in range(JOBS):
            made = replace(_job(), subject=f"A{number}")
            entries = [_entry(seq, f"{number} {seq}") for seq in range(1, ENTRIES + 1)]
            store.add_all([(made, entries)])
    return path.read_bytes()


def _job() -> Job:
    return Job(
        *("c", "1", "h", "r", "1", "h", "Invented store", "site: x\n" * 30, "A", "us", "N. N."),
        NOON,
    )


def _entry(seq: int, text: str) -> Entry:
    return Entry(
        seq, NOON, "answer", f"step-{seq}", {"quantity": "outdoor_temperature", "text": text}
    )


def flipped(content: bytes, chance: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(chance.choice((1, 20, 400))):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def cut(content: bytes, chance: random.Random) -> bytes:
    return content[: chance.randrange(len(content))]


def page_gone(content: bytes, chance: random.Random) -> bytes:
    start = chance.randrange(1, len(content) // 4096) * 4096
    return content[:start] + bytes(4096) + content[start + 4096 :]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("damage", [flipped, cut, page_gone])
def test_every_damage_ends_in_sentences_and_never_in_a_traceback(
    tmp_path: Path, sound: bytes, damage: Callable[[bytes, random.Random], bytes], seed: int,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    path = tmp_path / "jobs.db"
    path.write_bytes(damage(sound, random.Random(seed)))
    for words in (["jobs"], ["jobs", "check"], ["jobs", "export"]):
        code = main([*words, "--jobs", str(tmp_path)])
        told = capsys.readouterr()
        assert "error in the program" not in told.err
        assert code == 0 or told.err.startswith("rackwalk: ") or words == ["jobs", "check"]
    if not path.stat().st_size:
        return
    code = main(["jobs", "rescue", str(path), "--output", str(tmp_path / "new.db")])
    told = capsys.readouterr()
    assert "error in the program" not in told.err
    if code:
        assert "Nothing could be read" in told.err
        assert not (tmp_path / "new.db").exists()
        return
    with JobStore(tmp_path / "new.db") as store:
        saved = {job.id: store.entries(job.id) for job in store.jobs()}
    assert f"{len(saved)} jobs with {sum(map(len, saved.values()))} entries" in told.out
    for job_id, entries in saved.items():
        assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
        if len(entries) < ENTRIES:  # what is missing is said by name
            assert job_id in told.out


def test_a_lost_page_costs_only_what_lay_on_it(tmp_path: Path, sound: bytes) -> None:
    chance = random.Random(1)
    saved = []
    for _ in range(10):
        path = tmp_path / "jobs.db"
        path.write_bytes(page_gone(sound, chance))
        try:
            saved.append(rescue(path, tmp_path / "new.db").entries)
        except StoreError:
            saved.append(0)
        (tmp_path / "new.db").unlink(missing_ok=True)
    assert sorted(saved)[len(saved) // 2] > JOBS * ENTRIES // 2


def test_the_newest_copy_fills_in_what_was_lost(tmp_path: Path, sound: bytes) -> None:
    path = tmp_path / "jobs.db"
    path.write_bytes(sound)
    with closing(sqlite3.connect(path)) as source:
        copy_to(source, tmp_path / "backups" / "jobs-2026-11-24.db")
    path.write_bytes(sound[: len(sound) // 2])
    rescued = rescue(path, tmp_path / "new.db")
    assert (rescued.jobs, rescued.entries) == (JOBS, JOBS * ENTRIES)
    assert any("2026-11-24" in sentence for sentence in rescued.messages)


def test_the_new_file_takes_the_place_of_the_damaged_one_which_is_kept(
    tmp_path: Path, sound: bytes, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "jobs.db"
    damaged = page_gone(sound, random.Random(3))
    path.write_bytes(damaged)
    assert main(["jobs", "rescue", "--jobs", str(tmp_path)]) == 0
    (aside,) = tmp_path.glob("jobs-damaged-*.db")
    assert aside.read_bytes() == damaged
    with JobStore(path) as store:
        assert store.read_only == ""
        assert store.jobs()


def test_nothing_is_written_over(tmp_path: Path, sound: bytes) -> None:
    (tmp_path / "jobs.db").write_bytes(sound)
    (tmp_path / "new.db").write_text("mine")
    with pytest.raises(StoreError, match="there already"):
        rescue(tmp_path / "jobs.db", tmp_path / "new.db")
    assert (tmp_path / "new.db").read_text() == "mine"


def read_all(path: Path) -> Iterable[Entry]:
    with JobStore(path) as store:
        return [entry for job in store.jobs() for entry in store.entries(job.id)]


def test_what_stood_only_in_the_log_is_saved_too(
    tmp_path: Path, job: Job, entry: MakeEntry
) -> None:
    path = tmp_path / "jobs.db"
    store = JobStore(path)
    job_id = store.create(job)
    store.append(job_id, entry(1))
    copy = tmp_path / "crashed.db"
    for ending in ("", "-wal"):  # as after a power cut
        copy.with_name(copy.name + ending).write_bytes(
            path.with_name(path.name + ending).read_bytes()
        )
    store.close()
    rescued = rescue(copy, tmp_path / "new.db")
    assert rescued.entries == 1
    assert list(read_all(tmp_path / "new.db")) == [entry(1)]
