"""The checklists and recorded jobs that are shipped, held against the shipped rulebase."""

from __future__ import annotations

import pytest
from budget import step
from memory_log import MemoryLog
from procedure_drive import StandingClock
from shipped_knowledge import shipped_checklists

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.yaml_nodes import Fields, Items, Text, read_yaml
from expert.places import shipped
from expert.procedure.checklist import Checklist
from expert.procedure.read_answers import load_answers
from expert.procedure.runner import runner_for
from expert.procedure.scripted import play
from expert.procedure.session import Session

DEMO = shipped("checklists") / "demo"


def recorded() -> list[dict[str, str]]:
    root = read_yaml(DEMO / "jobs.yaml")
    assert isinstance(root, Fields)
    jobs = root.fields["demo"]
    assert isinstance(jobs, Items)
    return [
        {key: node.text for key, node in job.fields.items() if isinstance(node, Text)}
        for job in jobs.items
        if isinstance(job, Fields)
    ]


@pytest.fixture(scope="module")
def checklists(shipped_rulebase: Rulebase) -> dict[str, Checklist]:
    return shipped_checklists()


def test_every_shipped_checklist_is_free_of_problems(checklists: dict[str, Checklist]) -> None:
    assert "hot-gas-defrost-checkout" in checklists


@pytest.mark.parametrize("job", recorded()[:: step(4)], ids=lambda job: job["name"])
def test_a_recorded_job_is_played_to_its_signed_end(
    shipped_rulebase: Rulebase,
    checklists: dict[str, Checklist],
    clock: StandingClock,
    job: dict[str, str],
) -> None:
    checklist = checklists[job["checklist"]]
    subject = load_site(DEMO / "site.yaml", shipped_rulebase).subjects[job["subject"]]
    runner = runner_for(checklist, Evaluator(shipped_rulebase, subject, backend="plain"))
    session = Session(runner, MemoryLog(), "job", now=clock)
    questions = [
        played.question
        for played in play(session, load_answers(DEMO / job["answers"], checklist))
        if played.question
    ]
    assert session.finished
    assert session.picture.still_open == ()
    assert runner.signed_by(session.picture)
    assert runner.set_aside(session.picture) == ()
    assert questions == []
