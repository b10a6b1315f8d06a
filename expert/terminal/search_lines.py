"""What a search shows: what leads, what fell, why this reading, and what came of it."""

from __future__ import annotations

from expert.inference.evaluation_model import Finding
from expert.procedure.active import Active
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.procedure.search import ENOUGH, MORE, SoFar, handed_to, leading, so_far
from expert.terminal.layout import Layout

_LEADING = 3
_FALLEN = 3
_WORTH_NAMING = 0.15  # of what is open; what has less is not named (own choice)


def _fits(finding: Finding, layout: Layout) -> list[str]:
    lines: list[str] = []
    for line in finding.fits:
        lines += layout.listed("-", line, 2)
    return lines


def reading_lines(runner: Runner, picture: Picture, active: Active, layout: Layout) -> list[str]:
    """Above a reading: what leads, what the last one made unlikely, and why this one comes next."""
    found = _stands(runner, picture, active)
    lines = _leads(found, layout) + _likeliest(found, runner, layout) + _fallen(found, layout)
    return lines + layout.named("Why this next", active.step.why)


def end_lines(runner: Runner, picture: Picture, active: Active, layout: Layout) -> list[str]:
    """What came of a search: the cause that leads, with its reasons, and who goes on with it."""
    found = _stands(runner, picture, active)
    lines = _fallen(found, layout)
    first = next(iter(found.evaluation.findings), None)
    clear = leading(found.evaluation, runner.rulebase)
    if first is None:
        lines += layout.text("No cause was found, and nothing that can be had here tells more.")
    elif clear is None:
        message = "No cause leads clearly, and nothing more that can be had here parts them."
        lines += layout.text(message) + _leads(found, layout)
        lines += _likeliest(found, runner, layout)
        lines += _fits(first, layout)
        lines += [] if first.cause.symptom else hand_over_lines(runner, active, first, layout)
    else:
        lines += layout.text(f"{first.cause.title}: {first.words}.")
        for reason in first.because[:3]:
            lines += layout.listed("-", reason, 2)
        lines += _fits(first, layout)
        lines += hand_over_lines(runner, active, first, layout)
    message = f"Enter ends the search; '{MORE}' or the name of a reading goes on with it."
    return lines + layout.typed(message)


def hand_over_lines(
    runner: Runner, active: Active, finding: Finding, layout: Layout
) -> list[str]:  # fmt: skip
    """The checklists that prove and repair a cause, and on what they are run."""
    lines: list[str] = []
    for checklist, on in handed_to(active.step, finding.cause, runner.subject):
        where = f"on {on}" if on else f"on the {checklist.subject} that shows it"
        lines += layout.listed("-", f"{checklist.title} ({checklist.id}), {where}", 2)
    if lines:
        return layout.text("It is proved and repaired with:") + lines
    lines = layout.text("No checklist is for it here. What would prove it:")
    for text in finding.cause.confirm:
        lines += layout.listed("-", text, 2)
    return lines


def search_hints(layout: Layout) -> list[str]:
    """What else may be typed at a reading of a search."""
    lines = layout.listed("-", "the name of another reading, with its value behind it", 2)
    return [*lines, *layout.listed(ENOUGH, "ends the search", 2)]


def _stands(runner: Runner, picture: Picture, active: Active) -> SoFar:
    now = runner.evaluation(picture, subject=active.subject)
    asked = {each.quantity for each in runner.plan(picture) if each.quantity}
    return so_far(now, runner.without_last(picture, active.subject), runner.rulebase, asked)


def _leads(found: SoFar, layout: Layout) -> list[str]:
    findings = found.evaluation.findings[:_LEADING]
    if not findings:
        return layout.named("So far", "nothing speaks for a cause yet.")
    told = [
        f"{each.cause.title}: {each.words}{' (an effect)' if each.cause.symptom else ''}"
        for each in findings
    ]
    more = len(found.evaluation.findings) - len(findings)
    if more:
        told.append(f"{more} less certain")
    return layout.named("So far", f"{'; '.join(told)}.")


def _likeliest(found: SoFar, runner: Runner, layout: Layout) -> list[str]:
    """Where to look, by all that was read and how plants look that have each cause."""
    told = [each for each in found.suspects if each.share >= _WORTH_NAMING]
    if not told:
        return []
    named = [f"{each.cause.title}, {_in_ten(each.share)}" for each in told]
    named[0] += " of what is open"
    lines = layout.named("Likeliest", f"{'; '.join(named)}.")
    if told[0].looks:
        titles = [runner.rulebase.quantities[name].title.lower() for name in told[0].looks]
        lines += layout.named("It looks so by", f"{' and '.join(titles)}. That is no proof.")
    return lines


def _in_ten(share: float) -> str:
    tenths = round(10 * share)
    return f"{tenths} in 10" if tenths < 10 else "more than 9 in 10"


def _fallen(found: SoFar, layout: Layout) -> list[str]:
    if not found.ruled_out:
        return []
    told = [cause.title for cause in found.ruled_out[:_FALLEN]]
    if len(found.ruled_out) > _FALLEN:
        told.append(f"{len(found.ruled_out) - _FALLEN} more")
    return layout.named("Ruled out or unlikely by it", f"{'; '.join(told)}.")
