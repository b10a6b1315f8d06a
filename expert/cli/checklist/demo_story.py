"""The few parts of a demo job that tell its story."""

from __future__ import annotations

from typing import TYPE_CHECKING

from expert.inference.sentences import first_up
from expert.procedure.world import AS_FOUND, AS_LEFT
from expert.terminal.listing import title_of

if TYPE_CHECKING:
    from expert.cli.job.open_job import Work
    from expert.inference.evaluation_model import Evaluation
    from expert.knowledge.model import Rulebase
    from expert.procedure.active import Active
    from expert.procedure.session import Session
    from expert.terminal.layout import Layout

_REASONS = 2


def opening(work: Work, layout: Layout) -> list[str]:
    """On what, and that this is a part of it."""
    subject, facts = work.runner.subject, work.runner.subject.facts
    told = ", ".join(facts[key] for key in ("refrigerant", "application", "defrost"))
    lines = layout.named(f"{work.runner.checklist.title}, circuit {subject.id}", told)
    return lines + layout.text("A few of its steps; --whole shows them all.")


def short_step(active: Active, rulebase: Rulebase, layout: Layout) -> list[str]:
    """A step in a line or two: what is asked and where it is read, or the hazard."""
    if active.step.type == "caution" and not active.quantity:
        caution = rulebase.cautions[active.step.text]
        return layout.text(f"CAUTION: {caution.title}. {caution.ask}")
    title = title_of(active, rulebase)
    return layout.text(f"{title.partition('. ')[0]}{' (as left)' * (active.stage == AS_LEFT)}")


def told_of(lines: list[str], titles: list[str]) -> list[str]:
    """Of what an answer gave only what is told: lines that begin with '= title', to their end."""
    kept, keeping = [], False
    for line in lines:
        if not line.startswith(" "):
            keeping = any(line.startswith(f"= {first_up(title)}") for title in titles)
        if keeping:
            kept.append(line)
    return kept


def found(session: Session, layout: Layout) -> list[str]:
    """What was found, and what still shows after the change."""
    lines: list[str] = []
    stages = (AS_FOUND, AS_LEFT) if session.picture.adjustments else (AS_FOUND,)
    for stage in stages:
        causes = [each.cause.title for each in session.evaluation(stage).findings[:1]]
        told = causes[0] if causes else "nothing that was measured speaks for a fault"
        lines += layout.named(f"Found ({stage})", f"{told}.")
    return lines


def so_far(evaluation: Evaluation, layout: Layout) -> list[str]:
    """What is found, how sure, and the first reasons."""
    lines = layout.text("What we think so far (as found):")
    for finding in evaluation.findings[:1]:
        lines += layout.listed("1", f"{finding.cause.title}: {finding.words}", 2)
        for reason in finding.because[:_REASONS]:
            lines += layout.listed("-", reason, 4)
    return lines


def what_next(work: Work, layout: Layout) -> list[str]:
    """What to type now."""
    return [
        *layout.text("What to type next, at a store of your own, and for the page of this one:"),
        f"  rackwalk run {work.job.checklist}",
        f"  rackwalk report {work.job.id} --view customer --output page.html",
    ]  # fmt: skip
