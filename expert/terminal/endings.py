"""How a job can be closed that is not done, as lines."""

from __future__ import annotations

from expert.procedure.closing import EXAMPLE, STATES
from expert.terminal.layout import Layout


def endings(layout: Layout) -> list[str]:
    """How a job can be closed that is not done, numbered."""
    lines: list[str] = []
    for number, (state, detail) in enumerate(STATES.items(), 1):
        lines += layout.choice(str(number), f"{state}: {detail}")
    return [*lines, *layout.typed(EXAMPLE)]
