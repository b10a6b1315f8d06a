"""What entries of every kind have: a place in their file, and plants they are for."""

from __future__ import annotations

from collections.abc import Mapping

from expert.errors import Place

NOWHERE = Place("")
FACTS = ("application", "defrost", "refrigerant", "case_type", "jurisdiction")
APPLIES_KEYS = (*FACTS, "safety_class", "has")
SAFETY_CLASSES = ("A1", "A2L", "A2", "A3", "B1", "B2L", "B2", "B3")  # ASHRAE 34
Applies = Mapping[str, tuple[str, ...]]
Places = Mapping[str, Place]


def meet(one: Applies, other: Applies) -> bool:
    """Whether there are plants to which both apply."""
    return all(set(words) & set(other[key]) for key, words in one.items() if key in other)
