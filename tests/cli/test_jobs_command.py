"""`rackwalk jobs` and what it does: list, export, import, check, schema, places."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from expert.store.jobs import JobStore

from .small_job import WALK, Command, lines, resume_words, run_words


@pytest.fixture
def walked(command: Command, tmp_path: Path) -> Path:
    folder = tmp_path / "here"
    assert command(*run_words(folder), typed=lines()).code == 0
    return folder


def test_jobs_go_to_another_machine_and_come_back_the_same(
    command: Command, walked: Path, tmp_path: Path
) -> None:
    file, there = tmp_path / "jobs.jsonl", tmp_path / "there"
    told = command("jobs", "export", "--jobs", str(walked), "--output", str(file))
    assert told.out == f"1 job written to {file}\n"
    brought = command("jobs", "import", str(file), "--jobs", str(there))
    assert (brought.code, brought.out) == (0, f"{file}: 1 jobs: 1 new.\n")
    again = command("jobs", "export", "--jobs", str(there))
    assert again.out == file.read_text()
    assert "0 new, 1 already here" in command("jobs", "import", str(file), "--jobs", str(there)).out


def test_a_job_continued_on_two_machines_is_told_and_both_reports_can_be_written(
    command: Command, tmp_path: Path
) -> None:
    here, there, file = tmp_path / "here", tmp_path / "there", tmp_path / "jobs.jsonl"
    command(*run_words(here), typed=lines(WALK[:6]))
    command("jobs", "export", "--jobs", str(here), "--output", str(file))
    command("jobs", "import", str(file), "--jobs", str(there))
    for folder in (here, there):
        assert command(*resume_words(folder), typed=lines(WALK[6:])).code == 0
    command("jobs", "export", "--jobs", str(there), "--output", str(file))
    merged = command("jobs", "import", str(file), "--jobs", str(here))
    assert "was continued on two machines after entry" in merged.out
    with JobStore(here / "jobs.db") as store:
        ids = [job.id for job in store.jobs()]
    assert len(ids) == 2
    assert "a second history" in " ".join(command("jobs", "--jobs", str(here)).out.split())
    for job_id in ids:
        words = resume_words(here)[1:]
        assert command("report", job_id, "--output", "-", *words).code == 0


def test_a_line_that_is_no_job_is_told_with_its_number(
    command: Command, walked: Path, tmp_path: Path
) -> None:
    file = tmp_path / "jobs.jsonl"
    command("jobs", "export", "--jobs", str(walked), "--output", str(file))
    file.write_text(f"{file.read_text()}{file.read_text()[:200]}\n")
    done = command("jobs", "import", str(file), "--jobs", str(tmp_path / "there"))
    assert done.code == 3
    assert "1 new" in done.out
    assert "Line 2 was left out: it is not whole JSON" in done.out
    assert command("jobs", "import", str(tmp_path / "none")).code == 2


def test_the_store_is_checked_whole(command: Command, walked: Path) -> None:
    sound = command("jobs", "check", "--jobs", str(walked))
    assert sound.code == 0
    assert "is sound: 1 jobs" in sound.out
    with JobStore(walked / "jobs.db") as store, store.database.transaction():
        store.database.run("DELETE FROM entry WHERE seq = 3")
    broken = command("jobs", "check", "--jobs", str(walked))
    assert broken.code == 3
    assert "is not as it was written" in broken.out


def test_the_schema_is_printed(command: Command) -> None:
    assert "$schema" in json.loads(command("jobs", "schema").out)


def test_an_unknown_action_names_the_nearest(command: Command) -> None:
    done = command("jobs", "exprt")
    assert done.code == 2
    assert "Did you mean 'export'" in done.err


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("postgresql://nobody@/none?host=/nowhere", "Cannot reach the job server"),
        ("postgresql://us:er@ho st:x/", "cannot be read; expected postgresql://"),
    ],
)
def test_a_server_that_is_not_there_is_a_sentence_without_the_password(
    command: Command, monkeypatch: pytest.MonkeyPatch, address: str, told: str
) -> None:
    pytest.importorskip("sqlalchemy")
    pytest.importorskip("psycopg")
    done = command("jobs", "--jobs", address.replace("nobody@", "nobody:hidden@"))
    assert done.code == 6
    assert told in done.err
    assert "hidden" not in done.err
    monkeypatch.setenv("RACKWALK_HOME", address)
    assert told in command("jobs").err
