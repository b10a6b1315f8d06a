from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from expert.errors import MovedOnError
from expert.procedure.entries import Entry
from expert.store.find_jobs import last_finished, listed
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.store_errors import NoSuchJobError, StoreError

MakeEntry = Callable[..., Entry]


def test_a_job_is_named_after_its_day_and_subject(store: JobStore, job: Job) -> None:
    assert store.create(job) == "2026-11-25-A4"
    assert store.create(job) == "2026-11-25-A4-2"


def test_a_job_comes_back_as_it_was_kept(store: JobStore, job: Job) -> None:
    job_id = store.create(job)
    kept = store.get(job_id)
    assert kept == replace(job, id=job_id, uid=kept.uid, chain=kept.chain)
    assert len(kept.uid) == 32


def test_entries_come_back_as_they_were_kept(store: JobStore, job: Job, entry: MakeEntry) -> None:
    job_id = store.create(job)
    kept = [entry(1, "-22 \N{DEGREE SIGN}C"), entry(2), entry(3)]
    for each in kept:
        store.append(job_id, each)
    assert list(store.entries(job_id)) == kept


def test_entries_are_there_after_closing_and_opening(
    place: Path | str, job: Job, entry: MakeEntry
) -> None:
    with JobStore(place) as store:
        job_id = store.create(job)
        store.append(job_id, entry(1))
    with JobStore(place) as store:
        assert store.entries(job_id) == (entry(1),)


def test_jobs_are_listed_with_the_one_worked_on_last_first(
    store: JobStore, job: Job, entry: MakeEntry
) -> None:
    old = store.create(job)
    new = store.create(replace(job, created=job.created + timedelta(hours=1)))
    assert [each.id for each in store.jobs()] == [new, old]
    store.append(old, replace(entry(1), at=job.created + timedelta(hours=2)))
    listed = store.jobs()
    assert [each.id for each in listed] == [old, new]
    assert (listed[0].entries, listed[1].entries) == (1, 0)
    assert listed[0].last == job.created + timedelta(hours=2)


def test_a_job_is_found_by_the_beginning_that_only_it_has(store: JobStore, job: Job) -> None:
    store.create(job)
    store.create(replace(job, subject="B7"))
    assert store.get("2026-11-25-B").subject == "B7"


def test_a_beginning_of_two_jobs_names_both(store: JobStore, job: Job) -> None:
    store.create(job)
    store.create(replace(job, subject="B7"))
    with pytest.raises(NoSuchJobError, match="2026-11-25-A4 or 2026-11-25-B7"):
        store.get("2026-11")


def test_an_unknown_job_names_the_nearest(store: JobStore, job: Job) -> None:
    store.create(job)
    with pytest.raises(NoSuchJobError, match="Did you mean '2026-11-25-A4'"):
        store.get("2026-11-26-A4")


def test_without_jobs_it_is_said(store: JobStore) -> None:
    with pytest.raises(NoSuchJobError, match="No job has been started yet"):
        store.get("x")


def test_finishing_and_going_on_are_noted(store: JobStore, job: Job) -> None:
    job_id = store.create(job)
    store.finish(job_id, job.created)
    assert store.get(job_id).finished == job.created
    store.finish(job_id, None)
    assert store.get(job_id).finished is None


@pytest.mark.parametrize("seq", [1, 3])
def test_an_entry_out_of_turn_is_refused(
    store: JobStore, job: Job, entry: MakeEntry, seq: int
) -> None:
    job_id = store.create(job)
    store.append(job_id, entry(1))
    with pytest.raises(MovedOnError, match="has 1 entries on disk"):
        store.append(job_id, entry(seq))
    assert store.entries(job_id) == (entry(1),)


def test_an_entry_of_no_job_is_refused(store: JobStore, entry: MakeEntry) -> None:
    with pytest.raises(StoreError):
        store.append("none", entry(1))


def test_a_number_that_is_none_is_refused(store: JobStore, job: Job, entry: MakeEntry) -> None:
    job_id = store.create(job)
    with pytest.raises(ValueError, match="JSON"):
        store.append(job_id, replace(entry(1), data={"value": float("nan")}))
    assert store.entries(job_id) == ()


def test_many_jobs_of_a_day_are_numbered_one_after_another(store: JobStore, job: Job) -> None:
    ids = [store.create(job) for _ in range(40)]
    assert ids[1:] == [f"{ids[0]}-{number}" for number in range(2, 41)]


def test_entries_of_several_jobs_are_those_of_each(
    store: JobStore, job: Job, entry: MakeEntry
) -> None:
    jobs = [store.create(job) for _ in range(3)]
    for many, job_id in enumerate(jobs):
        store.append(job_id, *(entry(number + 1) for number in range(many)))
    assert store.entries_of(jobs) == {each: store.entries(each) for each in jobs}
    assert store.entries_of([]) == {}
    done = replace(entry(3), kind="done")
    store.append(jobs[2], done)
    assert store.entries_of(jobs, kind="done") == {jobs[0]: (), jobs[1]: (), jobs[2]: (done,)}


def test_the_last_finished_jobs_on_some_equipment_are_found(
    store: JobStore, job: Job, entry: MakeEntry
) -> None:
    first, second, third = (store.create(job) for _ in range(3))
    other = store.create(replace(job, subject="B3"))
    elsewhere = store.create(replace(job, site="Another"))
    for hours, each in enumerate((second, first, other, elsewhere)):
        store.append(each, replace(entry(1), at=job.created + timedelta(hours=hours)))
        store.finish(each, job.created)
    store.append(third, entry(1))  # never finished
    assert last_finished(store.database, job.site, job.subject, 5) == [first, second]
    assert last_finished(store.database, job.site, job.subject, 1) == [first]


def test_the_short_list_is_in_either_order(store: JobStore, job: Job, entry: MakeEntry) -> None:
    old = store.create(job)
    new = store.create(replace(job, created=job.created + timedelta(hours=1)))
    store.append(old, replace(entry(1), at=job.created + timedelta(hours=2)))
    assert [each.id for each in listed(store.database)] == [old, new]
    newest = listed(store.database, newest_first=True)
    assert [(each.id, each.last) for each in newest] == [
        (old, job.created + timedelta(hours=2)), (new, None)
    ]  # fmt: skip
