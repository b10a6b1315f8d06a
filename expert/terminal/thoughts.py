"""What do we think so far: findings with their first reasons, and what to measure next."""

from __future__ import annotations

from expert.inference.model import Evaluation, Finding
from expert.inference.sentences import first_up
from expert.terminal.layout import Layout

MOST_FINDINGS = 4
MOST_NEXT = 3
MOST_OPEN = 5


def thoughts(
    evaluation: Evaluation, stage: str, layout: Layout, *, reasons: int, everything: bool = False
) -> list[str]:
    """The findings of a stage, best first, each with so many reasons; `everything` cuts nothing."""
    lines = layout.text(f"What we think so far ({stage}):")
    findings = evaluation.findings
    shown = findings if everything else findings[:MOST_FINDINGS]
    for number, finding in enumerate(shown, 1):
        lines += _finding(str(number), finding, layout, reasons, 0)
    if len(findings) > len(shown):
        lines += layout.text(f"and {len(findings) - len(shown)} less certain.")
    if not findings:
        lines += layout.text("Nothing speaks for a fault yet. What was not measured is not judged.")
    lines += _next(evaluation, layout)
    lines += _open(evaluation, layout, everything)
    return lines


def _finding(mark: str, finding: Finding, layout: Layout, reasons: int, indent: int) -> list[str]:
    lines = layout.listed(mark, f"{finding.cause.title}: {finding.words}", indent)
    for reason in finding.because[:reasons]:
        lines += layout.listed("-", reason, indent + 2)
    for question in finding.open[:reasons]:
        lines += layout.listed("- still open:", first_up(question), indent + 2)
    for effect in finding.effects:
        lines += layout.listed("- explains:", f"{effect.cause.title}: {effect.words}", indent + 2)
    return lines


def _next(evaluation: Evaluation, layout: Layout) -> list[str]:
    if not evaluation.measure_next:
        return []
    lines = layout.text("Worth measuring next:")
    for reading in evaluation.measure_next[:MOST_NEXT]:
        lines += layout.listed("-", f"{reading.quantity.title}. {reading.why}", 2)
    return lines


def _open(evaluation: Evaluation, layout: Layout, everything: bool) -> list[str]:
    missing = evaluation.cannot_judge
    if not missing:
        return []
    lines = layout.text("Could not be judged:")
    shown = missing if everything else missing[:MOST_OPEN]
    for each in shown:
        lines += layout.listed("-", f"{each.what}: {each.why}", 2)
    if len(missing) > len(shown):
        lines += layout.text(f"and {len(missing) - len(shown)} more.", 2)
    return lines


def found_in_short(evaluation: Evaluation, stage: str, layout: Layout) -> list[str]:
    """The findings of a stage in one line each, what they explain below them."""
    lines = layout.text(f"Found ({stage}):")
    for number, finding in enumerate(evaluation.findings[:MOST_FINDINGS], 1):
        lines += _finding(str(number), finding, layout, 0, 2)
    if not evaluation.findings:
        lines += layout.text("Nothing speaks for a fault.", 2)
    return lines
