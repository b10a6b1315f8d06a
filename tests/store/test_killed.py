from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import expert
from expert.store.job_row import Job
from expert.store.jobs import JobStore

KILLS = 10
LENGTH = 120  # entries of a whole job
# nightly it is killed at every entry, otherwise at every tenth, on a server at every fortieth
NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
LONGEST = 0.06  # s after its first answer
HERE = {**os.environ, "PYTHONPATH": str(Path(expert.__file__).parents[1])}
WRITER = Path(__file__).with_name("killed_writer.py")


def killed(path: Path, job_id: str, delay: float) -> int:
    """The last answer that a writer said was kept before it was killed."""
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(path), job_id],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=HERE,
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        assert writer.stderr is not None
        first = writer.stdout.readline()
        time.sleep(delay)
        writer.kill()
        said = (first + writer.stdout.read()).split("\n")
        assert writer.stderr.read() == ""
    assert writer.returncode == -9
    return int(said[-2])  # what stands after the last line end was not said to the end


def test_killing_the_program_at_any_moment_loses_no_answer_it_said_was_kept(
    path: Path, job: Job
) -> None:
    moments = random.Random(20261125)
    with JobStore(path) as store:
        job_id = store.create(job)
    for _ in range(KILLS):
        last = killed(path, job_id, moments.uniform(0, LONGEST))
        with JobStore(path) as store:
            kept = store.entries(job_id)
        assert last <= len(kept) <= last + 1
        assert [entry.seq for entry in kept] == list(range(1, len(kept) + 1))
        assert [entry.data["text"] for entry in kept] == [f"{entry.seq} psig" for entry in kept]


def acknowledged(place: Path | str, job_id: str, wanted: int) -> int:
    """The last answer said to be kept by a writer that is killed at its so-manieth."""
    with subprocess.Popen(
        [sys.executable, str(WRITER), str(place), job_id],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=HERE,
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        assert writer.stderr is not None
        for _ in range(wanted):
            said = writer.stdout.readline()
        writer.kill()
        said = [said, *writer.stdout.read().split("\n")[:-1]][-1]
        assert writer.stderr.read() == ""
    assert writer.returncode == -9
    return int(said)


def test_a_whole_job_killed_at_its_entries_loses_nothing_it_said_was_kept(
    place: Path | str, job: Job
) -> None:
    with JobStore(place) as store:
        job_id = store.create(job)
    stride = 1 if NIGHTLY else 40 if isinstance(place, str) else 10
    kept, kills = 0, 0
    while kept < LENGTH:
        last = acknowledged(place, job_id, stride)
        kills += 1
        with JobStore(place) as store:
            assert store.read_only == ""
            entries = store.entries(job_id)
            assert store.get(job_id).entries == len(entries)
        assert max(last, kept + stride) <= len(entries) <= last + 1
        assert [entry.data["text"] for entry in entries] == [
            f"{entry.seq} psig" for entry in entries
        ]
        assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
        kept = len(entries)
    assert kills > 1
