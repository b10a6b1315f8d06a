"""What do we think so far: findings with their first reasons, and what to measure next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from expert.inference.evaluation_model import Evaluation, Finding
from expert.knowledge.hazard_model import Caution
from expert.knowledge.site import Subject
from expert.terminal.layout import Layout

OnMembers = tuple[tuple[Subject, tuple[Finding, ...]], ...]

MOST_FINDINGS = 4
MOST_NEXT = 3
LEADING, MOST_LINES = 3, 2  # of the short form, so that it fits 20 lines of 40 columns
MOST_OPEN = 2


def diagnosis_so_far(
    evaluation: Evaluation,
    stage: str,
    layout: Layout,
    cautions: Mapping[str, Caution],
    *,
    reasons: int,
    everything: bool = False,
) -> list[str]:
    """The findings of a stage, best first, each with so many reasons; what is to be done comes
    with its hazards.

    `everything` cuts nothing; what could not be judged then comes first, so that the findings are
    what remains in view.
    """
    lines = _open(evaluation, layout) if everything else []
    lines += layout.text(f"What we think so far ({stage}):")
    findings = evaluation.findings
    shown = findings if everything else findings[:MOST_FINDINGS]
    for number, finding in enumerate(shown, 1):
        lines += _finding(str(number), finding, layout, 99 if everything else reasons)
        if number == 1 or everything:
            lines += _advice(finding, layout, everything)
            lines += _hazards(finding, cautions, layout, everything)
    if len(findings) > len(shown):
        lines += layout.text(f"and {len(findings) - len(shown)} less certain.")
    if not findings:
        lines += layout.text("Nothing speaks for a fault yet. What was not measured is not judged.")
    lines += _again(evaluation, layout)
    missing = evaluation.cannot_judge
    if missing and not everything:
        count = f"{len(missing)} value{'s' if len(missing) > 1 else ''}"
        lines += layout.typed("t tells which and why.", f"{count} could not be judged;")
    return lines + _next(evaluation, layout)


def in_short(
    evaluation: Evaluation,
    stage: str,
    layout: Layout,
    before: Sequence[Finding] = (),
    members: OnMembers = (),
) -> list[str]:
    """What leads, how sure, why in a line, and what to read next: no more than a screen.

    `before` are findings from before a change that were not read again yet; of `members` the
    first of each stands in a line.
    """
    lines = layout.text(f"What we think so far ({stage}):")
    for number, finding in enumerate(evaluation.findings[:LEADING], 1):
        lines += layout.listed(str(number), f"{finding.cause.title}: {finding.words}")[:2]
        lines += _cut(layout.listed("-", next(iter(finding.because), ""), 2))
    if len(evaluation.findings) > LEADING:
        lines += layout.text(f"and {len(evaluation.findings) - LEADING} less certain.")
    for finding in before[:LEADING]:
        message = f"{finding.cause.title}: {finding.words} as found, not read again yet"
        lines += layout.listed("-", message)[:2]
    for member, findings in members:
        for finding in findings[:1]:
            more = f", and {len(findings) - 1} more" if len(findings) > 1 else ""
            lines += layout.listed(f"{member.id}:", f"{_named(finding)}{more}")[:MOST_LINES]
    if not evaluation.findings and not before and not any(each for _, each in members):
        lines += layout.text("Nothing speaks for a fault yet. What was not measured is not judged.")
    for reading in evaluation.measure_next[:1]:
        lines += _cut(layout.named("Read next", f"{reading.quantity.title}. {reading.why}"))
    if missing := len(evaluation.cannot_judge):
        lines += layout.text(f"{missing} value{'s' if missing > 1 else ''} could not be judged.")
    return lines + layout.typed("w tells the whole of it.")


def _cut(lines: list[str]) -> list[str]:
    """At most two lines; what is left out shows as dots."""
    if len(lines) <= MOST_LINES:
        return lines
    last = lines[MOST_LINES - 1]
    return [*lines[: MOST_LINES - 1], f"{last[:-4].rstrip()} ..."]


def found_in_short(evaluation: Evaluation, stage: str, layout: Layout) -> list[str]:
    """The findings of a stage in one line each, what they explain below them."""
    lines = layout.text(f"Found ({stage}):")
    for number, finding in enumerate(evaluation.findings[:MOST_FINDINGS], 1):
        lines += layout.listed(str(number), _named(finding), 2)
        lines += _effects(finding, layout, 4)
    if not evaluation.findings:
        lines += layout.text("Nothing that was measured speaks for a fault.", 2)
    return lines


def diagnosis_on(members: OnMembers, layout: Layout, *, reasons: int) -> list[str]:
    """Below that, what is found on each member beyond what its rack shows."""
    lines: list[str] = []
    for member, findings in members:
        message = "" if findings else " nothing of its own speaks for a fault"
        lines += layout.text(f"{member_name(member)}:{message}", hang=2)
        for number, finding in enumerate(findings[:MOST_FINDINGS], 1):
            lines += _finding(str(number), finding, layout, reasons)
    return lines


def found_on(members: OnMembers, layout: Layout) -> list[str]:
    """The same in one line for each finding."""
    lines: list[str] = []
    for member, findings in members:
        for finding in findings[:MOST_FINDINGS]:
            lines += layout.listed(f"{member.id}:", _named(finding), 2)
    return lines


def member_name(member: Subject) -> str:
    """'A1, Frozen doors'."""
    return member.id if member.title == member.id else f"{member.id}, {member.title}"


def _finding(mark: str, finding: Finding, layout: Layout, reasons: int) -> list[str]:
    lines = layout.listed(mark, _named(finding))
    for reason in finding.because[:reasons]:
        lines += layout.listed("-", reason, 2)
    for line in finding.fits if reasons else ():
        lines += layout.listed("-", line, 2)
    for question in finding.open[: min(reasons, MOST_OPEN)]:
        lines += layout.listed("-", f"not known, and would change it: {question}", 2)
    return lines + _effects(finding, layout, 2)


def _named(finding: Finding) -> str:
    return f"{finding.cause.title}: {finding.words}"


def _effects(finding: Finding, layout: Layout, indent: int) -> list[str]:
    lines: list[str] = []
    for effect in finding.effects:
        lines += layout.listed("-", f"explains '{effect.cause.title}', {effect.words}", indent)
    return lines


def _advice(finding: Finding, layout: Layout, everything: bool) -> list[str]:
    """What would confirm a finding and what may be done; only the first of each in short."""
    most = 99 if everything else 1
    lines: list[str] = []
    for name, texts in (("confirm", finding.cause.confirm), ("do", finding.do)):
        for text in texts[:most]:
            lines += layout.listed("-", f"{name}: {text}", 2)
    return lines


def _hazards(
    finding: Finding, cautions: Mapping[str, Caution], layout: Layout, everything: bool
) -> list[str]:
    """The hazards of what is to be done: their names in short, else all that is said of them."""
    known = [cautions[name] for name in finding.cautions]
    if not everything:
        message = "; ".join(each.title for each in known)
        return layout.listed("-", f"hazards: {message}", 2) if message else []
    lines: list[str] = []
    for each in known:
        lines += layout.listed("-", f"hazard, {each.title}: {' '.join(each.say)}", 2)
    return lines


def _again(evaluation: Evaluation, layout: Layout) -> list[str]:
    """The readings on which the first finding turns, and what no reading shows."""
    lines = layout.text("Take again before acting:") if evaluation.doubts else []
    for doubt in evaluation.doubts:
        lines += layout.listed("-", f"{doubt.quantity.title}. {doubt.why}", 2)
    lines += layout.text("Cannot be told from these readings:") if evaluation.hidden else []
    for hidden in evaluation.hidden:
        lines += layout.listed("-", hidden.text, 2)
    return lines


def _next(evaluation: Evaluation, layout: Layout) -> list[str]:
    if not evaluation.measure_next:
        return []
    lines = layout.text("Worth measuring next:")
    for reading in evaluation.measure_next[:MOST_NEXT]:
        lines += layout.listed("-", f"{reading.quantity.title}. {reading.why}", 2)
    return lines


def _open(evaluation: Evaluation, layout: Layout) -> list[str]:
    lines = layout.text("Could not be judged:") if evaluation.cannot_judge else []
    for each in evaluation.cannot_judge:
        lines += layout.listed("-", f"{each.what}: {each.why}", 2)
    return lines
