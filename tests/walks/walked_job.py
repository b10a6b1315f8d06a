"""What the walks share: the demo site, when a walk begins, and a job that was played."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from expert.inference.evaluate import Evaluator
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.answers import Answers
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import Runner, runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session
from expert.store.job_row import Job

HERE = Path(__file__).parent
DEMO = shipped("checklists") / "demo"
START = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Walked:
    """A job that was played from an answers file to its end."""

    runner: Runner
    evaluator: Evaluator
    session: Session
    questions: tuple[str, ...]


class NoLog:
    """Keeps nothing; the session keeps its entries."""

    def append(self, job_id: str, *entries: Entry) -> None:
        """Kept by the session."""

    def finish(self, job_id: str, at: datetime | None) -> None:
        """Not noted."""


def on_site(
    checklist: Checklist, site: Site, subject: str, base: Rulebase
) -> tuple[Session, Evaluator]:
    """A session on a subject of a site, its clock going on by 20 s each time it is asked."""
    on = site.subjects[subject]
    evaluator = Evaluator(base, on, members=site.members(on), backend="plain")
    times = iter(START + timedelta(seconds=20 * n) for n in range(1_000_000))
    runner = runner_for(checklist, evaluator)
    return Session(runner, NoLog(), "job", now=lambda: next(times)), evaluator


def subject_of(name: str) -> str:
    """Id of the subject of a walk; its name says checklist, subject and what it shows."""
    return name.partition(".")[2].partition("-")[0].upper()


def begun(
    name: str, site: Site, base: Rulebase, checklists: Mapping[str, Checklist]
) -> tuple[Session, Answers]:
    """The session of a walk, and its answers."""
    checklist = checklists[name.partition(".")[0]]
    answers = load_answers(DEMO / f"{name}.answers.yaml", checklist)
    return on_site(checklist, site, subject_of(name), base)[0], answers


def walked_through(
    path: Path, site: Site, base: Rulebase, checklists: Mapping[str, Checklist]
) -> Walked:
    """The job of an answers file, played to its end."""
    checklist = checklists[path.name.partition(".")[0]]
    session, evaluator = on_site(checklist, site, subject_of(path.name), base)
    steps = play(session, load_answers(path, checklist))
    questions = tuple(each.question for each in steps if each.question)
    return Walked(session.runner, evaluator, session, questions)


def job_of(session: Session, site: Site) -> Job:
    """The job of a session on a site, as its reports tell of it."""
    return Job(
        session.runner.checklist.id, "1", "", "base", "1", "", site.name, site.text,
        session.runner.subject.id, "us", "A. Sample", START, id="job",
    )  # fmt: skip
