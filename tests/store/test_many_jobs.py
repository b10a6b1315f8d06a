"""The invented years of jobs hold what those who read them have to cope with."""

from __future__ import annotations

import sys
from itertools import islice
from pathlib import Path

import pytest
from budget import NIGHTLY, step

from expert.procedure.picture import fold
from expert.store.jobs import JobStore

sys.path.insert(0, str(Path(__file__).parent))

from many_jobs import ADDED, CREWS, STORES, fill, many_jobs  # noqa: E402

COUNT = 120 if NIGHTLY else 70
EVERY = step(3)  # of the jobs they are made from


@pytest.fixture(scope="module")
def made() -> list:
    return list(many_jobs(COUNT, every=EVERY))


def test_the_same_seed_gives_the_same_jobs(made: list) -> None:
    some = COUNT if NIGHTLY else 8
    assert list(islice(many_jobs(COUNT, every=EVERY), some)) == made[:some]
    assert list(islice(many_jobs(COUNT, seed=1, every=EVERY), some)) != made[:some]


def test_several_crews_stores_circuits_and_checklists_over_two_years(made: list) -> None:
    jobs = [job for job, _ in made]
    assert {job.who for job in jobs} == {name for crew in CREWS for name in crew}
    assert {job.site for job in jobs} == set(STORES)
    assert len({job.subject for job in jobs}) > 4
    assert len({job.checklist for job in jobs}) > (5 if NIGHTLY else 3)
    assert (jobs[-1].created - jobs[0].created).days > 700
    assert any(job.finished is None for job in jobs)


def test_corrections_skips_with_reasons_notes_counts_and_refrigerant(made: list) -> None:
    entries = [entry for _, each in made for entry in each]
    kinds = {entry.kind for entry in entries}
    assert {"reopen", "skip", "note", "stop", "resume", "adjust", "clock", "sign"} <= kinds
    assert all(entry.text("reason") for entry in entries if entry.kind == "skip")
    added = [entry for entry in entries if entry.text("quantity") == ADDED]
    assert any(entry.data["value"] for entry in added)
    assert any(entry.text("opened") for entry in entries)
    for job, each in made:
        assert [entry.seq for entry in each] == list(range(1, len(each) + 1))
        if job.finished:
            assert fold(each).still_open == ()


def test_a_store_is_filled_with_them(tmp_path: Path, made: list) -> None:
    with JobStore(tmp_path / "jobs.db") as store:
        assert fill(store, 20, every=EVERY) == sum(
            len(store.entries(job.id)) for job in store.jobs()
        )
        assert len(store.jobs()) == 20
