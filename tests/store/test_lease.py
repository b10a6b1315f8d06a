from __future__ import annotations

import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from expert.errors import MovedOnError
from expert.procedure.entries import Entry
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.store_errors import JobBusyError

MakeEntry = Callable[..., Entry]


def change(store: JobStore, statement: str) -> None:
    with store.database.transaction():
        store.database.run(statement)


def test_a_second_writer_is_refused_with_a_clear_sentence(
    place: Path | str, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    with JobStore(place) as second:
        for attempt in (lambda: second.hold(job_id), lambda: second.append(job_id, entry(1))):
            with pytest.raises(
                JobBusyError, match=f"open in another program .*{socket.gethostname()}"
            ):
                attempt()


def test_a_second_program_may_read(
    place: Path | str, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    store.append(job_id, entry(1))
    with JobStore(place) as second:
        assert second.entries(job_id) == (entry(1),)


def test_a_second_program_may_work_on_another_job(
    place: Path | str, store: JobStore, job: Job
) -> None:
    store.create(job)
    with JobStore(place) as second:
        assert second.create(job) == "2026-11-25-A4-2"


def test_closing_gives_a_job_back(place: Path | str, job: Job) -> None:
    with JobStore(place) as first:
        job_id = first.create(job)
    with JobStore(place) as second:
        second.hold(job_id)


def test_a_job_can_be_taken_over_and_the_first_writer_is_then_refused(
    place: Path | str, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    with JobStore(place) as second:
        second.hold(job_id, take_over=True)
        second.append(job_id, entry(1))
        with pytest.raises(JobBusyError):
            store.append(job_id, entry(2))


def test_a_program_that_no_longer_runs_holds_nothing(
    place: Path | str, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    change(store, f"UPDATE lease SET token = 'other', pid = {_ended()}")
    with JobStore(place) as second:
        second.append(job_id, entry(1))


def test_a_program_on_another_machine_is_not_guessed_at(
    place: Path | str, store: JobStore, job: Job
) -> None:
    job_id = store.create(job)
    change(store, f"UPDATE lease SET token = 'other', pid = {_ended()}, host = 'elsewhere'")
    with JobStore(place) as second, pytest.raises(JobBusyError, match="on elsewhere"):
        second.hold(job_id)


def _ended() -> int:
    """The number of a process of this machine that has ended."""
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    return gone.pid


def test_two_programs_enter_into_one_job_after_one_another(
    place: Path | str, store: JobStore, job: Job, entry: MakeEntry
) -> None:
    job_id = store.create(job)
    store.append(job_id, entry(1))
    with JobStore(place) as second:
        assert second.join(job_id)
        second.append(job_id, entry(2), entry(3))
        with pytest.raises(MovedOnError, match="somebody else has entered"):
            store.append(job_id, entry(2))
        assert store.entries(job_id, after=1) == (entry(2), entry(3))
        store.append(job_id, entry(4))
        with pytest.raises(MovedOnError):
            second.append(job_id, entry(4), entry(5))
    assert store.entries(job_id) == tuple(map(entry, (1, 2, 3, 4)))
    assert not store.altered(job_id)


def test_who_joins_a_job_that_nobody_holds_holds_it(
    place: Path | str, job: Job, entry: MakeEntry
) -> None:
    with JobStore(place) as first:
        job_id = first.create(job)
    with JobStore(place) as second, JobStore(place) as third:
        assert not second.join(job_id)
        with pytest.raises(JobBusyError):
            third.append(job_id, entry(1))
