"""What is shown of a called checklist, and of the members on which a phase is run."""

from __future__ import annotations

from expert.inference.sentences import first_up
from expert.procedure.active import Active
from expert.procedure.checklist import Checklist
from expert.procedure.runner import Runner
from expert.terminal.diagnosis_so_far import member_name
from expert.terminal.layout import Layout


def needs_lines(checklist: Checklist, layout: Layout) -> list[str]:
    """What must be at hand before a checklist is begun."""
    needs = checklist.needs
    lines: list[str] = []
    for name, items in (
        ("Tools", needs.tools),
        ("People", needs.people),
        ("Permission", needs.permission),
        ("Conditions", needs.conditions),
    ):
        if items:
            lines += layout.named(name, "; ".join(items))
    return [*lines, *layout.named("Time", needs.time)] if needs.time else lines


def call_lines(
    called: Checklist, layout: Layout, *, said: list[str], not_for: str = ""
) -> list[str]:
    """Which checklist comes in between, and what it needs; or why it is passed over."""
    if not_for:
        passed = f"Passed over: {called.title}. {first_up(not_for)}."
        return layout.typed("Enter goes on.", passed)
    comes = f"Now comes: {called.title}."
    message = layout.typed("Enter begins it, s leaves it out with a reason.", comes)
    return [*said, *message, *needs_lines(called, layout)]


def place_of(active: Active, runner: Runner) -> str:
    """'Each circuit, A1, Frozen doors': the phase of a step, and the member it is about."""
    if not active.subject:
        return active.phase.title
    return f"{active.phase.title}, {member_name(runner.members[active.subject])}"


def which_lines(active: Active, runner: Runner, layout: Layout) -> list[str]:
    """The members that may be chosen."""
    lines = layout.text(f"Which {active.step.text}s?")
    for name in active.offers:
        lines += layout.choice("-", member_name(runner.members[name]))
    return lines + layout.typed(runner.expected(active))
