"""The shipped checklists, the demo site, and every answers file played on it."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import timedelta
from functools import cache
from pathlib import Path

import pytest

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.places import shipped
from expert.procedure.answers import load_answers
from expert.procedure.checklist import Checklist
from expert.procedure.load_checklists import load_checklists
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session

sys.path.insert(0, str(Path(__file__).parent))

from walked_job import DEMO, START, Memory, Walked  # noqa: E402


@pytest.fixture(scope="session")
def checklists(shipped_rulebase: Rulebase) -> dict[str, Checklist]:
    return load_checklists(shipped("checklists"), shipped_rulebase)


@pytest.fixture(scope="session")
def walked(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> Callable[[Path], Walked]:
    """The job of an answers file; its name says checklist, subject and what it shows."""
    site = load_site(DEMO / "site.yaml", shipped_rulebase)
    subjects = {name.lower(): subject for name, subject in site.subjects.items()}

    @cache
    def walk(path: Path) -> Walked:
        name, what = path.name.removesuffix(".answers.yaml").split(".")
        checklist, subject = checklists[name], subjects[what.partition("-")[0]]
        members = site.members(subject)
        evaluator = Evaluator(shipped_rulebase, subject, members=members, backend="plain")
        runner = runner_for(checklist, evaluator)
        times = iter(START + timedelta(seconds=20 * n) for n in range(100_000))
        session = Session(runner, Memory(), "job", now=lambda: next(times))
        steps = play(session, load_answers(path, checklist))
        return Walked(
            runner, evaluator, session, tuple(each.question for each in steps if each.question)
        )

    return walk
