"""The list of steps, numbered so that any closed one can be named and changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from expert.errors import ReadingError
from expert.inference.sentences import first_up
from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.procedure.corrections import answer_of
from expert.terminal.layout import Layout


def named(plan: Sequence[Active]) -> Iterator[tuple[str, Active]]:
    """Each thing asked with what to type for it: '12', or '12.3' inside a watch."""
    counts: dict[int, int] = {}
    several = {active.number for active in plan if active.sample or active.searched}
    for active in plan:
        counts[active.number] = counts.get(active.number, 0) + 1
        inner = f".{counts[active.number]}" if active.number in several else ""
        yield f"{active.number}{inner}", active


def title_of(active: Active, rulebase: Rulebase) -> str:
    """A step in a few words."""
    if quantity := rulebase.quantities.get(active.quantity):
        sample = f", sample {active.sample}" if active.sample else ""
        return f"{first_up(quantity.title)}{sample}"
    step = active.step
    if step.type == "caution":
        return f"Caution: {rulebase.cautions[step.text].title}"
    if step.type == "restore":
        return f"Put back: {step.text}"
    if step.type == "show":
        titles = [rulebase.quantities[name].title for name in step.quantities]
        return f"Values: {', '.join(titles)}"
    if step.type == "stop":
        return f"Stop: {step.text}"
    if step.called is not None:
        return step.called.title
    if step.type == "members":
        return f"Which {step.text}s"
    if step.type == "member":
        return f"The rest of {step.text}"
    if step.type in ("clock", "adjust", "watch"):
        return step.say or f"{first_up(step.type)} {step.text}"
    return step.text or step.say or step.id


def list_lines(plan: Sequence[Active], rulebase: Rulebase, layout: Layout) -> list[str]:
    """Every closed step by phase, with what was entered; '>' marks the one asked now.

    What is still ahead is only counted, or the closed ones would leave a small screen.
    """
    lines: list[str] = []
    phase, asked = "", False
    ahead: set[int] = set()
    for number, active in named(plan):
        if active.entry is None and asked:
            ahead.add(active.number)
            continue
        member = f", {active.subject}" if active.subject else ""
        heading = f"{active.phase.title}{member} ({_when(active)})"
        if heading != phase:
            phase = heading
            lines += layout.text(f"{heading}:")
        title = title_of(active, rulebase).removesuffix(".")
        if active.entry is None:
            asked = True
            lines += layout.listed(f"> {number}", f"{title}: asked now")
        else:
            lines += layout.listed(f"  {number}", f"{title}: {answer_of(active.entry)}")
    return [*lines, *layout.named("Steps ahead", str(len(ahead)))]


def _when(active: Active) -> str:
    return f"{active.stage}, round {active.round}" if active.round else active.stage


def pick(text: str, plan: Sequence[Active]) -> Active:
    """The closed step that a number names. Raises ReadingError."""
    typed = text.strip().rstrip(".")
    found = dict(named(plan))
    if typed in found:
        active = found[typed]
    else:
        inner = [name for name in found if name.startswith(f"{typed}.")]
        if not inner:
            raise ReadingError(f"There is no step '{text.strip()}'. Type a number of the list.")
        if len(inner) > 1:
            raise ReadingError(
                f"Step {typed} has several values. Type which one, {inner[0]} to {inner[-1]}."
            )
        active = found[inner[0]]
    if active.entry is None:
        raise ReadingError(f"Step {typed} is not answered yet. Type the number of one that is.")
    return active
