"""A full disk and a folder that cannot be written: what is there is read, and a sentence says why.

Both need a file system of their own, which only root may mount; elsewhere they are skipped.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

import expert
from expert.cli.frame.main import main
from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.store_errors import StoreError

MakeEntry = Callable[..., Entry]
HERE = {**os.environ, "PYTHONPATH": str(Path(expert.__file__).parents[1])}
SMALL = Path(__file__).parents[1] / "terminal" / "small"


def mount(*words: str) -> None:
    done = subprocess.run(["mount", *words], capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"mount is refused: {done.stderr.strip()}")


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of one megabyte."""
    if os.name == "nt" or os.geteuid():
        pytest.skip("only root may mount a small disk")
    folder = tmp_path / "disk"
    folder.mkdir()
    mount("-t", "tmpfs", "-o", "size=1m", "tmpfs", str(folder))
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def fill(folder: Path, leave: int = 0) -> None:
    """Fill a disk to the last byte, or so far that some bytes are left."""
    with (folder / "full").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(bytes(4096))
        except OSError:
            pass
        file.truncate(max(file.tell() - leave, 0))


@pytest.mark.parametrize("leave", [0, 4096, 8192, 65536, 200_000])
def test_on_a_full_disk_nothing_acknowledged_is_lost_and_it_goes_on_when_there_is_room(
    disk: Path, job: Job, entry: MakeEntry, leave: int
) -> None:
    path = disk / "jobs.db"
    with JobStore(path) as store:
        job_id = store.create(job)
        store.append(job_id, entry(1))
        fill(disk, leave)
        kept = 1
        with pytest.raises(StoreError, match="Not saved: the job file could not be written .*full"):
            for seq in range(2, 5000):
                store.append(job_id, entry(seq, "x" * 300))
                kept = seq
        assert len(store.entries(job_id)) == kept
        with pytest.raises(StoreError, match="Not saved"):
            store.append(job_id, entry(kept + 1, "x" * 30_000))
        (disk / "full").unlink()
        store.append(job_id, entry(kept + 1))
    with JobStore(path) as store:
        assert len(store.entries(job_id)) == kept + 1


def test_a_full_disk_is_read_when_it_is_opened_anew(
    disk: Path, job: Job, entry: MakeEntry, capsys: pytest.CaptureFixture[str]
) -> None:
    with JobStore(disk / "jobs.db") as store:
        job_id = store.create(job)
        store.append(job_id, entry(1))
    fill(disk)
    with JobStore(disk / "jobs.db") as store:
        assert store.entries(job_id) == (entry(1),)
        with pytest.raises(StoreError, match="Not saved"):
            store.append(job_id, entry(2))
    assert main(["jobs", "--jobs", str(disk)]) == 0
    assert job_id in capsys.readouterr().out


def test_a_run_on_a_full_disk_ends_in_a_sentence(disk: Path) -> None:
    fill(disk)
    words = [
        "run", str(SMALL / "checkout.yaml"), "--site", str(SMALL / "site.yaml"), "--subject", "A1",
        "--rulebase", str(SMALL / "rules"), "--jobs", str(disk), "--engine", "plain", "--plain",
    ]  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-m", "expert", *words], input="y\n", capture_output=True, text=True,
        env=HERE, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 6
    assert "Traceback" not in done.stderr
    assert "error in the program" not in done.stderr
    assert "job file" in done.stderr


@pytest.mark.parametrize("crashed", [False, True], ids=["closed in order", "after a crash"])
def test_a_folder_that_cannot_be_written_is_read(
    disk: Path, job: Job, entry: MakeEntry, crashed: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    store = JobStore(disk / "jobs.db")
    job_id = store.create(job)
    store.append(job_id, entry(1))
    log = (disk / "jobs.db-wal").read_bytes()
    content = (disk / "jobs.db").read_bytes()
    store.close()
    if crashed:  # the last entries stand only in the log, and nobody has tidied up
        (disk / "jobs.db").write_bytes(content)
        (disk / "jobs.db-wal").write_bytes(log)
    mount("-o", "remount,ro", str(disk))
    with JobStore(disk / "jobs.db") as readable:
        assert "cannot be written" in readable.read_only
        assert readable.entries(job_id) == (entry(1),)
        assert readable.get(job_id).subject == "A4"
        for change in (
            lambda: readable.append(job_id, entry(2)), lambda: readable.create(job),
            lambda: readable.hold(job_id),
        ):  # fmt: skip
            with pytest.raises(StoreError, match="Not saved: .*cannot be written"):
                change()
    assert main(["jobs", "--jobs", str(disk)]) == 0
    told = capsys.readouterr()
    assert job_id in told.out
    assert "cannot be written" in told.err


def test_without_a_job_file_a_folder_that_cannot_be_written_is_named(disk: Path, job: Job) -> None:
    mount("-o", "remount,ro", str(disk))
    with pytest.raises(StoreError, match="Cannot (open|use) the job file"):
        JobStore(disk / "folder" / "jobs.db")
