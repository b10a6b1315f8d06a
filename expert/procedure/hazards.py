"""The cautions that a plant asks for before a step: hazards of its refrigerant and of the work.

A checklist need not name them, so that none can forget them.
"""

from __future__ import annotations

from collections.abc import Iterable

from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Rulebase
from expert.knowledge.plants import applies_to, may_apply, takes
from expert.knowledge.site import Subject
from expert.made_when_used import dataclass
from expert.procedure.checklist import MEASURING, Foreign, Step


@dataclass(frozen=True)
class Hazards:
    """Ids of cautions; those in `done` belong to work that the step does, in each round again."""

    names: tuple[str, ...] = ()
    done: frozenset[str] = frozenset()


NONE = Hazards()


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
        if each.id in done or any(takes(q.cautions, each.before, rulebase) for q in read)
    )
    return Hazards(tuple(names), done)


def foreign_to(subject: Subject, readings: Iterable[Foreign]) -> frozenset[str]:
    """Ids of the readings that are known to be foreign to the plant of a subject."""

    def known(each: Foreign) -> bool:
        one_of_them = bool(each.not_for) and may_apply(each.not_for, subject)
        return applies_to(each.applies, subject) and not one_of_them

    return frozenset(name for each in readings if known(each) for name in each.readings)


def fits(step: Step, subject: Subject) -> bool:
    """Whether a step is not known to be for another kind of plant."""
    other = bool(step.not_for) and applies_to(step.not_for, subject)
    return may_apply(step.applies, subject) and not other
