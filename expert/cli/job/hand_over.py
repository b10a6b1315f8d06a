"""From a search that is done to the job that proves and repairs what it found."""

from __future__ import annotations

import shlex

from expert.cli.job.open_job import Work
from expert.procedure.search import TYPE, handed_to, leading

_NAMED = "ID"  # what stands where the person says which circuit it is


def hand_over(work: Work) -> list[str]:
    """The commands that go on from a search with its readings; none after any other checklist."""
    session, runner = work.session, work.runner
    ends = [each for each in runner.plan(session.picture) if each.step.type == TYPE]
    commands: list[str] = []
    for end in ends:
        found = session.evaluation(subject=end.subject)
        first = leading(found, runner.rulebase) or next(iter(found.findings), None)
        if first is None or first.cause.symptom:
            continue
        for checklist, on in handed_to(end.step, first.cause, runner.subject):
            words = ["rackwalk", "run", checklist.id, "--from", work.job.id]
            words += ["--subject", on or _NAMED]
            commands.append(shlex.join([*words, *work.places]))
    return commands
