"""Two at one job, each in a room of their own, come to what one who walks it comes to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from budget import NIGHTLY
from found_in_walk import found
from walked_job import DEMO, begun

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.people import others_at, room_of
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import runner_for
from expert.procedure.screens import WORKING
from expert.procedure.scripted import play
from expert.procedure.session import Session
from expert.store.job_row import Job
from expert.store.jobs import JobStore

# the one with a fault takes five seconds
NAME = f"hot-gas-defrost-checkout.{'a4-low-differential' if NIGHTLY else 'a4-healthy'}"
Checklists = dict[str, Checklist]


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return load_site(DEMO / "site.yaml", shipped_rulebase)


def two(
    place: Path, site: Site, base: Rulebase, checklist: Checklist
) -> Iterator[tuple[Session, JobStore]]:
    """Sessions of two programs over one job, the first in the motor room, the second beside it."""
    on = site.subjects["A4"]
    start = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
    times = iter(start + timedelta(seconds=20 * n) for n in range(1_000_000))
    job = Job(checklist.id, "1", "", "base", "1", "", site.name, site.text, "A4", "us", "", start)
    first = JobStore(place)
    job_id = first.create(job)
    for store, who in ((first, "A. Sample"), (JobStore(place), "B. Sample")):
        evaluator = Evaluator(base, on, members=site.members(on), backend="plain")
        store.join(job_id)
        yield Session(
            runner_for(checklist, evaluator), store, job_id, store.entries(job_id),
            now=lambda: next(times), who=who,
            others=lambda seq, store=store: store.entries(job_id, after=seq),  # type: ignore[misc]
        ), store  # fmt: skip


def walk_both(first: Session, second: Session, answers: Answers) -> list[tuple[str, str]]:
    """Each answers what is asked there; gives the room and the place of the person each time."""
    done = []
    while not first.finished:
        before = len(first.picture.entries)
        for session in (second, first):
            session.catch_up()
            for played in play(session, answers):
                done.append((session.who, room_of(played.active, session.runner.rulebase)))
            session.catch_up()
        assert len(first.picture.entries) > before, "both wait"
        first.catch_up()
    return done


def test_two_at_one_job_find_what_one_finds(
    tmp_path: Path, site: Site, shipped_rulebase: Rulebase, checklists: Checklists
) -> None:
    checklist = checklists[NAME.partition(".")[0]]
    answers = load_answers(DEMO / f"{NAME}.answers.yaml", checklist)
    answers = replace(answers, notes={}, photos={})
    (first, one), (second, other) = two(tmp_path / "jobs.db", site, shipped_rulebase, checklist)
    first.lead(WORKING)
    second.catch_up()
    second.resume(["case"], beside=True)
    done = walk_both(first, second, answers)
    assert {room for who, room in done if who == "A. Sample"} == {"motor room"}
    assert [room for who, room in done if who == "B. Sample"].count("case") > 10
    assert not one.altered(first.job_id)
    one.close()
    other.close()
    alone, answers = begun(NAME, site, shipped_rulebase, checklists)
    alone.lead(WORKING)
    list(play(alone, replace(answers, notes={}, photos={})))
    assert found(first) == found(alone)


def entry(kind: str, who: str, **data: object) -> Entry:
    return Entry(1, datetime(2026, 3, 14, tzinfo=UTC), kind, "", data, who)


def test_who_has_left_leaves_the_room_to_the_others() -> None:
    came = entry("resume", "B", beside=True, at=["case"])
    assert others_at([came], "A") == {"case": "B"}
    assert others_at([came], "B") == {}
    assert others_at([came, entry("stop", "B")], "A") == {}
    assert others_at([came, entry("resume", "A")], "A") == {}
