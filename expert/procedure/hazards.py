"""The cautions that a plant asks for before a step: hazards of its refrigerant and of the work.

A checklist need not name them, so that none can forget them.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from expert.knowledge.model import Caution, Quantity, Rulebase
from expert.knowledge.plants import applies_to, may_apply
from expert.knowledge.site import Subject
from expert.procedure.checklist import MEASURING, Step


@dataclass(frozen=True)
class Hazards:
    """Ids of cautions; those in `done` belong to work that the step does, in each round again."""

    names: tuple[str, ...] = ()
    done: frozenset[str] = frozenset()


NONE = Hazards()


def cautions_on(rulebase: Rulebase, subject: Subject) -> tuple[Caution, ...]:
    """The cautions that belong to a plant; also where it is not known to be another kind."""
    return tuple(
        each for each in rulebase.cautions.values() if each.before and may_apply(each.on, subject)
    )


def hazards_of(step: Step, cautions: tuple[Caution, ...], rulebase: Rulebase) -> Hazards:
    """Which of a plant's cautions come before a step: by what it does and what it reads."""
    if not cautions or step.type == "caution":
        return NONE
    asked = (*step.quantities, step.until) if step.type in MEASURING else ()
    read = [rulebase.quantities[name] for name in asked if name in rulebase.quantities]
    done = frozenset(each.id for each in cautions if {*step.does} & {*each.before})
    names = (
        each.id
        for each in cautions
        if each.id in done or any(_takes(quantity, each.before, rulebase) for quantity in read)
    )
    return Hazards(tuple(names), done)


def _takes(quantity: Quantity, works: Collection[str], rulebase: Rulebase) -> bool:
    """Whether a reading takes gauges or opening, and with it one of some kinds of work."""
    known = (rulebase.cautions[name] for name in quantity.cautions if name in rulebase.cautions)
    return any(each.access and (not each.work or {*each.work} & {*works}) for each in known)


def fits(step: Step, subject: Subject) -> bool:
    """Whether a step is not known to be for another kind of plant."""
    other = bool(step.not_for) and applies_to(step.not_for, subject)
    return may_apply(step.applies, subject) and not other
