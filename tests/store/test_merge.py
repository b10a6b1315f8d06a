"""Jobs of several machines are brought together; nothing is mixed up and nothing is lost."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from expert.procedure.entries import Entry
from expert.store.exchange import read_lines, to_line
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.merge import ADDED, BRANCH, BUSY, LONGER, SAME, SHORTER, Merged, merge

MakeEntry = Callable[..., Entry]


@pytest.fixture
def van(tmp_path: Path) -> Iterator[JobStore]:
    with JobStore(tmp_path / "van.db") as opened:
        yield opened


def lines(store: JobStore) -> list[str]:
    return [to_line(job, store.entries(job.id)) for job in store.jobs()]


def carry(source: JobStore, target: JobStore) -> Merged:
    return merge(target, read_lines(lines(source)))


@pytest.fixture
def shared(store: JobStore, van: JobStore, job: Job, entry: MakeEntry) -> str:
    """A job of two entries that both have."""
    job_id = van.create(job)
    van.append(job_id, entry(1))
    van.append(job_id, entry(2))
    assert carry(van, store).counts == {ADDED: 1}
    return job_id


def test_what_is_here_already_is_not_doubled(store: JobStore, van: JobStore, shared: str) -> None:
    assert carry(van, store).counts == {SAME: 1}
    assert len(store.jobs()) == 1


def test_a_job_that_went_on_elsewhere_is_gone_on_with(
    store: JobStore, van: JobStore, shared: str, entry: MakeEntry, job: Job
) -> None:
    van.append(shared, entry(3))
    van.finish(shared, job.created)
    assert carry(van, store).counts == {LONGER: 1}
    assert len(store.entries(shared)) == 3
    assert store.get(shared).finished == job.created
    assert store.get(shared).entries == 3


def test_an_older_copy_changes_nothing(
    store: JobStore, van: JobStore, shared: str, entry: MakeEntry
) -> None:
    store.append(shared, entry(3))
    assert carry(van, store).counts == {SHORTER: 1}
    assert len(store.entries(shared)) == 3


def test_a_job_continued_on_two_machines_is_kept_as_both_histories(
    store: JobStore, van: JobStore, shared: str, entry: MakeEntry
) -> None:
    store.append(shared, entry(3, "here"))
    van.append(shared, entry(3, "there"))
    merged = carry(van, store)
    assert merged.counts == {BRANCH: 1}
    (told,) = merged.messages
    assert "continued on two machines after entry 2" in told
    other = next(job for job in store.jobs() if job.branch_of)
    assert other.id in told
    assert [each.text("text") for each in store.entries(shared)][2:] == ["here"]
    assert [each.text("text") for each in store.entries(other.id)][2:] == ["there"]
    assert carry(van, store).counts == {SAME: 1}  # and is known from then on
    van.append(shared, entry(4, "there"))
    assert carry(van, store).counts == {LONGER: 1}
    assert len(store.entries(other.id)) == 4


def test_a_job_held_by_another_program_is_left_out_and_told(
    place: Path | str, store: JobStore, van: JobStore, shared: str, entry: MakeEntry
) -> None:
    van.append(shared, entry(3))
    with JobStore(place) as terminal:
        terminal.hold(shared)
        merged = carry(van, store)
    assert merged.counts == {BUSY: 1}
    assert "open in another program" in merged.messages[0]
    assert len(store.entries(shared)) == 2


def test_jobs_of_one_name_from_two_machines_are_two_jobs(
    store: JobStore, van: JobStore, job: Job, entry: MakeEntry
) -> None:
    for each in (store, van):
        each.append(each.create(job), entry(1))
    assert carry(van, store).counts == {ADDED: 1}
    (other,) = van.jobs()
    assert {each.id for each in store.jobs()} == {"2026-11-25-A4", f"2026-11-25-A4.{other.uid[:6]}"}


@pytest.mark.parametrize("seed", range(12))
def test_machines_that_exchange_in_any_order_end_with_the_same_histories(
    tmp_path: Path, job: Job, entry: MakeEntry, seed: int
) -> None:
    chance = random.Random(seed)
    stores = [JobStore(tmp_path / f"{name}.db") for name in "abc"]
    try:
        first = stores[0].create(job)
        stores[0].append(first, entry(1))
        for step in range(25):
            machine = chance.choice(stores)
            if machine.jobs() and chance.random() < 0.6:
                one = chance.choice(machine.jobs())
                machine.append(one.id, entry(one.entries + 1, f"step {step}"))
            else:
                carry(machine, chance.choice([each for each in stores if each is not machine]))
        for _ in range(2):
            for source in stores:
                for target in stores:
                    if source is not target:
                        carry(source, target)
        histories = [
            sorted(tuple(map(str, each.entries(one.id))) for one in each.jobs()) for each in stores
        ]
        assert histories[0] == histories[1] == histories[2]
    finally:
        for each in stores:
            each.close()
