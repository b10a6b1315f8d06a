"""Plays the recorded demo jobs in memory."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache

from expert.inference.evaluate import Evaluator
from expert.knowledge.load import load_rulebase
from expert.knowledge.load_site import load_site
from expert.places import shipped
from expert.procedure.answers import load_answers
from expert.procedure.entries import Entry
from expert.procedure.load import load_checklists
from expert.procedure.runner import Runner, runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Job:
    """The facts of a job that a report needs."""

    id: str = "2026-03-02-A4"
    site: str = "An invented store"
    who: str = "A. *Sample*"
    created: datetime = START
    rulebase_hash: str = ""


@dataclass
class MemoryLog:
    """Keeps entries in a list."""

    entries: list[Entry]

    def append(self, job_id: str, entry: Entry) -> None:
        self.entries.append(entry)

    def finish(self, job_id: str, at: datetime | None) -> None:
        pass


@cache
def played(name: str, subject: str, steps: int = 0) -> tuple[tuple[Entry, ...], Runner]:
    """The entries of a demo job (all, or the first so many) and its runner."""
    rulebase = load_rulebase(shipped("rulebase"))
    demo = shipped("checklists") / "demo"
    checklist = load_checklists(shipped("checklists"), rulebase)["hot-gas-defrost-checkout"]
    site = load_site(demo / "site.yaml", rulebase)
    runner = runner_for(checklist, Evaluator(rulebase, site.subjects[subject], backend="plain"))
    clock = iter(START + timedelta(seconds=20 * n) for n in range(10_000))
    log = MemoryLog([])
    session = Session(runner, log, "job", now=lambda: next(clock))
    file = next(demo.glob(f"{checklist.id}.*{name}.answers.yaml"))
    answers = load_answers(file, checklist)
    for number, _ in enumerate(play(session, answers), 1):
        if number == steps:
            break
    return tuple(log.entries), runner
