"""A reading of the job that a new one goes on with, offered where it would be asked again."""

from __future__ import annotations

from expert.knowledge.model import Rulebase
from expert.procedure.active import Active
from expert.procedure.entries import Entry
from expert.procedure.history import History, measured_data
from expert.procedure.world import AS_FOUND
from expert.units.measure import format_measure


def carried_entry(
    history: History, active: Active, rulebase: Rulebase, system: str
) -> Entry | None:  # fmt: skip
    """The entry as if it had stood at a step; Enter confirms it, with the time it was taken.

    Only as found and on the job's own subject: what is measured to prove a change is new.
    """
    if active.stage != AS_FOUND or active.step.type not in ("ask", "observe") or active.loop:
        return None
    earlier = None if active.subject else history.carried_over(active.quantity)
    if earlier is None:
        return None
    value = earlier.value
    text = value if isinstance(value, str) else format_measure(value, system, plus_minus=False)
    data = {
        "quantity": active.quantity, "kind": rulebase.quantities[active.quantity].kind.value,
        "text": text, **measured_data(value), "taken": earlier.at.isoformat(),
        "carried": earlier.job, **({"way": earlier.way} if earlier.way else {}),
    }  # fmt: skip
    return Entry(0, earlier.at, "answer", active.key, data)
