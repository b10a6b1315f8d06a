"""For which plants something is: whether it applies to a subject, and which edges hold there."""

from __future__ import annotations

from dataclasses import replace

from expert.knowledge.model import Applies, Quantity
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
