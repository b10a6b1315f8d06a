"""Neither depth of text drops a caution, nor any part of one."""

from __future__ import annotations

from pathlib import Path

import pytest
from rack_job import CALLED, RackJob
from shipped_knowledge import shipped_checklists
from terminal_help import WALK, ShownJob, TickingClock

from expert.inference.evaluate import Evaluator
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import runner_for
from expert.terminal.layout import Layout
from expert.terminal.step_view import StepView
from expert.terminal.texts import Texts

DEPTHS = ("learning", "working", "brief")


def squeezed(lines: list[str]) -> str:
    return " ".join(" ".join(lines).split())


def parts(rulebase: Rulebase, caution: str) -> tuple[str, ...]:
    """Every sentence of a caution, as it must be shown."""
    found = rulebase.cautions[caution]
    return tuple(" ".join(each.split()) for each in (found.title, *found.say, found.ask))


def cautions_shown(job: ShownJob | RackJob, lines: tuple[str, ...]) -> list[str]:
    """The steps at which a caution is shown in full while lines are answered."""
    shown = []
    for line in (*lines, ""):
        active = job.session.current
        if active is None:
            break
        if active.step.type == "caution":
            at = StepView(job.session.picture, active, TickingClock()(), Layout(80))
            text = squeezed(job.texts.step(at))
            assert all(part in text for part in parts(job.runner.rulebase, active.step.text))
            shown.append(active.key)
        job.session.answer(line)
    return shown


@pytest.mark.parametrize("depth", DEPTHS)
def test_each_caution_of_a_walk_is_shown_in_full(depth: str) -> None:
    lines = tuple(line for line in WALK if line not in ("stem", "0 turns", "1 turn"))
    adjusted = (*lines[:15], "stem; 0 turns; 1 turn", *lines[15:])
    assert cautions_shown(ShownJob(depth=depth), adjusted) == ["hot", "hot-again@1"]


@pytest.mark.parametrize("depth", DEPTHS)
def test_each_caution_of_a_call_and_of_each_member_is_shown_in_full(
    depth: str, tmp_path: Path
) -> None:
    lines = (*CALLED, "", "y", "open", "", "20 min", "", "y", "open", "", "20 min", "", "")
    shown = cautions_shown(RackJob(tmp_path, depth), lines)
    assert shown == ["headers/hot", "hot~A1", "hot~B"]


@pytest.mark.parametrize("depth", DEPTHS)
def test_each_caution_of_every_shipped_checklist_is_shown_in_full(
    depth: str, shipped_rulebase: Rulebase
) -> None:
    count, nothing_yet = 0, Picture()
    for checklist in shipped_checklists().values():
        subject = Subject("A1", "any", checklist.subject, "A", {})
        evaluator = Evaluator(shipped_rulebase, subject, backend="plain")
        texts = Texts(runner_for(checklist, evaluator), evaluator, depth=depth)
        for phase in checklist.all_phases:
            for step in phase.steps:
                if step.type == "caution":
                    active = Active(step.id, step, phase, phase.stage)
                    text = squeezed(
                        texts.step(StepView(nothing_yet, active, TickingClock()(), Layout(80)))
                    )
                    assert all(part in text for part in parts(shipped_rulebase, step.text))
                    count += 1
    assert count
