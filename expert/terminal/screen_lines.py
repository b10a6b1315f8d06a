"""What is shown where several steps are asked together: hazards, looks, things to be done."""

from __future__ import annotations

from expert.inference.sentences import first_up
from expert.procedure.active import Active
from expert.procedure.screens import BRIEF, HAZARDS, LOOKS, Screen, expected
from expert.procedure.spots import spot_of
from expert.terminal.calls_and_members import place_of
from expert.terminal.listing import title_of
from expert.terminal.step_view import StepView
from expert.terminal.texts import Texts

_HEADS = {
    HAZARDS: "CAUTION. Type the number of each that is so.",
    LOOKS: "Look at each. Enter when all are as said here, else the numbers of those that are not.",
}
_DO = "Do each. Enter when all are done, else the numbers of those that are not."


def screen_lines(screen: Screen, texts: Texts, at: StepView) -> list[str]:
    """The screen: where we are, and each part with its number."""
    first, last, layout = screen.parts[0], screen.parts[-1], at.layout
    spot = spot_of(first, texts.rulebase)
    place = place_of(first, texts.runner)
    where = f"Steps {first.number} to {last.number} of {first.total}, {place}, {spot}"
    lines = layout.text(where) + layout.text(_HEADS.get(screen.kind, _DO))
    for number, part in enumerate(screen.parts, 1):
        lines += _numbered(str(number), part, screen, texts, at)
        if part.step.opens:
            lines += layout.named("To be put back later", part.step.opens, 3)
    return lines


def _numbered(number: str, part: Active, screen: Screen, texts: Texts, at: StepView) -> list[str]:
    """A part with its number; a hazard with all that is said of it where it comes first."""
    layout = at.layout
    known = {entry.text("caution") for entry in at.picture.acknowledged}
    if screen.kind != HAZARDS or texts.depth == BRIEF or part.step.text in known:
        return layout.listed(number, _part(part, screen, texts), 1)
    caution = texts.rulebase.cautions[part.step.text]
    lines = layout.listed(number, caution.title, 1)
    for sentence in caution.say:
        lines += layout.listed("-", sentence, 3)
    return lines + layout.text(caution.ask, 3)


def screen_label(screen: Screen, texts: Texts) -> str:
    """The prompt of a screen; it ends with what is accepted."""
    first = screen.first
    accepted = f"1-{len(screen.parts)}" if screen.kind == HAZARDS else "Enter"
    return f"{first.number}/{first.total} {accepted}> "


def screen_help(screen: Screen, texts: Texts, at: StepView) -> list[str]:
    """Each part in full: what a caution says, where a look is taken, why."""
    lines: list[str] = []
    for number, part in enumerate(screen.parts, 1):
        lines += at.layout.listed(str(number), _part(part, screen, texts), 1)
        for sentence in _more(part, texts):
            lines += at.layout.listed("-", sentence, 3)
    return [*lines, *at.layout.text(f"{expected(screen)} s asks them one by one.")]


def _part(part: Active, screen: Screen, texts: Texts) -> str:
    title = title_of(part, texts.rulebase)
    if screen.kind == HAZARDS:
        caution = texts.rulebase.cautions[part.step.text]
        return f"{caution.title}: {caution.ask}"
    if screen.kind == LOOKS:
        return f"{title}: {part.step.usual}"
    return part.step.say or first_up(title)


def _more(part: Active, texts: Texts) -> list[str]:
    if part.step.type == "caution":
        return list(texts.rulebase.cautions[part.step.text].say)
    quantity = texts.rulebase.quantities.get(part.quantity)
    told = [quantity.where, part.step.how] if quantity else [part.step.how, part.step.why]
    return [first_up(each) for each in told if each]
