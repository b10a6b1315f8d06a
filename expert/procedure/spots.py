"""Where one stands for a step: motor room, case, roof, display or store."""

from __future__ import annotations

from expert.knowledge.model import Rulebase
from expert.knowledge.where import CASE, MOTOR_ROOM, ROOMS, usual_spot
from expert.procedure.active import Active
from expert.procedure.checklist import Phase


def spot_of(active: Active, rulebase: Rulebase) -> str:
    """The place of a step: its own, that of its reading, that of its phase."""
    quantity = rulebase.quantities.get(active.quantity)
    if active.step.spot:
        return active.step.spot
    if quantity is not None:
        return quantity.spot or active.phase.spot or usual_spot(quantity.subject)
    return active.phase.spot or _first_reading(active.phase, rulebase)


def moved(one: str, other: str) -> bool:
    """Whether one walks between two places; display and store are on every way."""
    return one != other and {one, other} <= {*ROOMS}


def _first_reading(phase: Phase, rulebase: Rulebase) -> str:
    """Where the first reading of a phase is taken; what has none is done where its members are."""
    names = (name for step in phase.steps for name in step.quantities)
    known = (rulebase.quantities[name] for name in names if name in rulebase.quantities)
    first = next(known, None)
    if first is not None:
        return first.spot or usual_spot(first.subject)
    return CASE if phase.for_each in ("circuit", "case") else MOTOR_ROOM
