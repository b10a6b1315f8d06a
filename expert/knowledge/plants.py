"""For which plants something is: whether it applies to a subject, and which edges and cautions
hold there."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from expert.knowledge.entry_model import Applies
from expert.knowledge.hazard_model import Caution
from expert.knowledge.model import Cause, Quantity, Rulebase
from expert.knowledge.site import Subject


def applies_to(applies: Applies, subject: Subject) -> bool:
    """Whether something made for certain applications is for a subject.

    A fact of the subject that is not known does not fit; of `has`, any of the devices will do.
    """
    return all(
        set(words) & set(subject.has) if key == "has" else subject.fact(key) in words
        for key, words in applies.items()
    )


def may_apply(applies: Applies, subject: Subject) -> bool:
    """Whether something made for certain applications is not known to be for others.

    What protects is shown where a fact is missing; devices that are not listed may be there.
    """
    facts = ((subject.fact(key), words) for key, words in applies.items() if key != "has")
    return all(fact is None or fact in words for fact, words in facts)


def is_there(quantity: Quantity, subject: Subject) -> bool:
    """Whether a plant may have what a quantity is of; what is not known of it is not assumed."""
    known = ((subject.fact(key), words) for key, words in quantity.not_for.items())
    return may_apply(quantity.applies, subject) and not any(fact in words for fact, words in known)


def suited(quantity: Quantity, subject: Subject) -> Quantity:
    """A quantity with the edges that hold on a subject, those of its narrowest range."""
    fitting = [each for each in quantity.ranges if applies_to(each.applies, subject)]
    if not fitting:
        return quantity
    best = max(fitting, key=lambda each: len(each.applies))
    return replace(
        quantity,
        refuse_below=best.refuse[0], refuse_above=best.refuse[1],
        unusual_below=best.unusual[0], unusual_above=best.unusual[1],
    )  # fmt: skip


def cautions_on(rulebase: Rulebase, subject: Subject) -> tuple[Caution, ...]:
    """The cautions that belong to a plant; also where it is not known to be another kind."""
    return tuple(
        each for each in rulebase.cautions.values() if each.before and may_apply(each.on, subject)
    )


def takes(cautions: Collection[str], works: Collection[str], rulebase: Rulebase) -> bool:
    """Whether what has some cautions takes gauges or opening, and with it one of some works."""
    known = (rulebase.cautions[name] for name in cautions if name in rulebase.cautions)
    return any(each.access and (not each.work or {*each.work} & {*works}) for each in known)


def cautions_of(cause: Cause, on_plant: Collection[Caution], rulebase: Rulebase) -> tuple[str, ...]:
    """Ids of the cautions of a cause, and behind them those of a plant for the work on it: what
    its remedies do, and what its own cautions take."""
    works = {each.action for each in cause.remedy}
    plants = (
        each.id
        for each in on_plant
        if works & {*each.before} or takes(cause.cautions, each.before, rulebase)
    )
    return tuple(dict.fromkeys((*cause.cautions, *plants)))
