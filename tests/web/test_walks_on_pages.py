"""A whole checklist on pages without scripts comes to what a session comes to."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from budget import NIGHTLY
from found_in_walk import found
from small_server import Running, begun, served
from web_walk import START, PageClock, PageWalk, _found, answers_of

from expert.procedure.log import NothingKept
from expert.procedure.scripted import _enter
from expert.procedure.session import Session
from expert.web.limits import RateLimit
from expert.web.live_jobs import LiveJobs
from expert.web.roles import LEAD, Person

WALKS = ["find-the-fault.b-dirty-face"]
AT_NIGHT = [
    "liquid-drier-check-and-change.a-healthy",
    "hot-gas-defrost-checkout.a4-low-differential", "preventive-maintenance-walk.a-dirty-condenser",
    "co2-rack-basics.c-dirty-gas-cooler", "hot-gas-defrost-checkout.a6-suction-stop-leaking",
]  # fmt: skip
_TIMES = re.compile(r"\d{4}-\d\d-\d\d|\d\d:\d\d(:\d\d)?|\b\d+:\d\d\b|[0-9a-f]{12,64}")


def begin(server: Running, name: str) -> tuple[PageWalk, LiveJobs]:
    """A job of a demo file on a clock that the test sets."""
    clock, jobs = PageClock(), server.service.companies[""]
    jobs.now = clock
    server.service.known = RateLimit(1e9, 1e9)
    visitor = server.visitor()
    checklist, _, what = name.partition(".")
    job = begun(visitor, checklist, what.partition("-")[0].upper())
    return PageWalk(server, visitor, job, answers_of(name, jobs), clock), jobs


@pytest.mark.parametrize("name", [*WALKS, *AT_NIGHT] if NIGHTLY else WALKS)
def test_pages_and_session_come_to_the_same(name: str, tmp_path: Path) -> None:
    with served(tmp_path) as server:
        walk, jobs = begin(server, name)
        walk.to_the_end()
        person = Person("A. Sample", LEAD)
        store = jobs.desk.store()
        with jobs.at(walk.job, person) as work, store:
            assert work.session.finished
            typed = type_alike(work.session, jobs, walk)
            assert [each.key for each in typed.runner.plan(typed.picture)] == [
                each.key for each in work.session.runner.plan(work.session.picture)
            ]
            assert found(typed) == found(work.session)
            job = jobs.job(walk.job)
            pages = jobs.desk.report(store, job, "technical")
        for view in ("technical", "customer", "office"):
            walk.visitor.go(f"/jobs/{walk.job}/report/{view}")
            assert walk.visitor.status == 200
        assert _TIMES.sub("", pages).count("<h2") > 3


def type_alike(paged: Session, jobs: LiveJobs, walk: PageWalk) -> Session:
    """The same answers in a session as the terminal has it, at the same depth."""
    clock = PageClock(START)
    session = Session(paged.runner, NothingKept(), "job", now=clock, who="A. Sample")
    session.lead(paged.depth)
    session.settle()
    while (active := session.current) is not None:
        found_there = _found(session, walk.answers, active)
        assert found_there is not None
        clock.at += timedelta(seconds=20)
        _enter(session, active, found_there)
    return session
