"""Nothing in a record can be changed without being told."""

from __future__ import annotations

import json
import os
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from expert.cli.frame.main import main
from expert.procedure.entries import Entry
from expert.store.exchange import LineError, from_line, to_line
from expert.store.job_row import Job
from expert.store.jobs import JobStore

MakeEntry = Callable[..., Entry]
COLUMNS = ("at", "kind", "step", "data", "who", "hash")
CHANGES = 1000 if os.environ.get("RACKWALK_TEST_PROFILE") == "nightly" else 120


@pytest.fixture
def filled(path: Path, job: Job, entry: MakeEntry) -> Path:
    """Three jobs of several people, with letters beyond ASCII."""
    with JobStore(path) as store:
        for number in range(3):
            job_id = store.create(replace(job, subject=f"A{number}"))
            for seq in range(1, 9):
                who = ("A. Sample", "B. Päivi", "")[seq % 3]
                store.append(job_id, replace(entry(seq, f"{200 + seq} psig, größer"), who=who))
    return path


def told(path: Path) -> list[str]:
    with JobStore(path) as store:
        return [problem for job in store.jobs() if (problem := store.altered(job.id))]


def test_what_was_written_and_left_alone_is_sound(filled: Path) -> None:
    assert told(filled) == []


def test_every_changed_sign_of_an_entry_is_told(filled: Path) -> None:
    rng = random.Random(1)  # noqa: S311
    with closing(sqlite3.connect(filled)) as connection:
        found = connection.execute(f"SELECT job, seq, {', '.join(COLUMNS)} FROM entry").fetchall()
        with JobStore(filled) as store:
            missed = []
            for _ in range(CHANGES):
                job, seq, *values = rng.choice(found)
                column = rng.randrange(len(COLUMNS))
                text = values[column] or " "
                at = rng.randrange(len(text))
                other = chr(ord(text[at]) ^ (1 << rng.randrange(7)))
                changed = text[:at] + other + text[at + 1 :]
                query = f"UPDATE entry SET {COLUMNS[column]} = ? WHERE job = ? AND seq = ?"
                connection.execute(query, (changed, job, seq))
                connection.commit()
                if not store.altered(job):
                    missed.append((job, seq, COLUMNS[column], text, changed))
                connection.execute(query, (values[column], job, seq))
                connection.commit()
            assert missed == []
            assert [store.altered(each.id) for each in store.jobs()] == [""] * 3


@pytest.mark.parametrize(
    "change",
    [
        "DELETE FROM entry WHERE job = :job AND seq = 8",
        "DELETE FROM entry WHERE job = :job AND seq = 4",
        "UPDATE entry SET seq = 99 WHERE job = :job AND seq = 8",
        "INSERT INTO entry SELECT job, 9, at, kind, step, data, who, hash FROM entry "
        "WHERE job = :job AND seq = 8",
        "UPDATE job SET who = 'B. Other' WHERE id = :job",
        "UPDATE job SET subject = 'A7' WHERE id = :job",
        "UPDATE job SET rulebase_hash = 'other' WHERE id = :job",
        "UPDATE job SET entries = 7 WHERE id = :job",
        "UPDATE job SET last = '2026-11-26T12:00:00+00:00' WHERE id = :job",
        "UPDATE site_file SET text = text || ' '",
    ],
)
def test_what_is_taken_out_put_in_or_said_of_the_job_is_told(filled: Path, change: str) -> None:
    with closing(sqlite3.connect(filled)) as connection:
        connection.execute(change, {"job": "2026-11-25-A1"} if ":job" in change else {})
        connection.commit()
    assert any("2026-11-25-A1" in each for each in told(filled))


def test_the_command_tells_and_ends_with_3(
    filled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["jobs", "check", "--jobs", str(filled.parent)]) == 0
    with closing(sqlite3.connect(filled)) as connection:
        changed = "UPDATE entry SET data = replace(data, '203 psig', '206 psig') WHERE job = ?"
        connection.execute(changed, ("2026-11-25-A1",))
        connection.commit()
    assert main(["jobs", "check", "--jobs", str(filled.parent)]) == 3
    assert "Job 2026-11-25-A1: entry 3 is not as it was written." in capsys.readouterr().out


def test_an_altered_job_stays_altered_when_it_is_handed_on(filled: Path) -> None:
    with closing(sqlite3.connect(filled)) as connection:
        connection.execute("UPDATE entry SET who = 'B. Other' WHERE seq = 5")
        connection.commit()
    with JobStore(filled) as store:
        job = store.get("2026-11-25-A1")
        line = to_line(job, store.entries(job.id), store.hashes(job.id))
    with pytest.raises(LineError, match="entry 5 is not as it was written"):
        from_line(line)


def test_a_line_of_the_form_before_is_still_read(filled: Path) -> None:
    with JobStore(filled) as store:
        job = store.get("2026-11-25-A1")
        document = json.loads(to_line(job, store.entries(job.id)))
    document["form"] = 1
    for each in document["entries"]:
        del each["who"], each["hash"]
    _, entries = from_line(json.dumps(document))
    assert len(entries) == 8 and {each.who for each in entries} == {""}
