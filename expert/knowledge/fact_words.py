"""The words by which plants are told apart: which each fact of a subject may take."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from expert.errors import Place
from expert.knowledge.entry_model import SAFETY_CLASSES, Applies
from expert.knowledge.jurisdictions import JURISDICTIONS
from expert.knowledge.model import Cause, Limit, Rule, place_under
from expert.knowledge.reader import Reader
from expert.knowledge.refer import refer
from expert.physics.fluids.refrigerants import names as refrigerant_names

APPLICATIONS = ("low temperature", "medium temperature")
DEFROSTS = ("hot gas", "electric", "off cycle")
NOT_KNOWN = "not known"  # of a refrigerant or an application that a site file has to name


def fact_words() -> Mapping[str, Collection[str]]:
    """The words each fact of a subject may take; a fact that is not here takes any text."""
    return {
        "application": APPLICATIONS,
        "defrost": DEFROSTS,
        "jurisdiction": JURISDICTIONS,
        "refrigerant": refrigerant_names(),
        "safety_class": SAFETY_CLASSES,
    }


def check_words(applies: Applies, place: Place, reader: Reader) -> None:
    """Every word of a plant is one that its fact may take."""
    for key, words in applies.items():
        if key in (known := fact_words()):
            refer(words, known[key], key, dict.fromkeys(words, place).__getitem__, reader)


def check_applies(item: Limit | Rule | Cause, reader: Reader) -> None:
    """The same of what an entry applies to, each told where it stands."""
    for key, words in item.applies.items():
        if key in (known := fact_words()):
            refer(words, known[key], key, place_under(item, f"applies.{key}"), reader)
