from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import expert
from expert.store.jobs import Job, JobStore

KILLS = 10
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
