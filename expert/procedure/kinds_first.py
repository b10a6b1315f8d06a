"""Kinds of plant that a search asks before a reading that hangs on them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from expert.knowledge.conditions import Condition, quantities_in
from expert.knowledge.model import Quantity
from expert.procedure.checklist import Step
from expert.procedure.search import reading_step


def kinds_in(search: Step) -> tuple[str, ...]:
    """The quantities by which a search tells that readings are foreign to a plant."""
    return _names(each for foreign in search.not_asked for each in foreign.when)


def names_behind(wanted: Quantity, search: Step) -> tuple[str, ...]:
    """The quantities that decide whether a reading is asked on a plant at all."""
    foreign = (
        each for some in search.not_asked if wanted.id in some.readings for each in some.when
    )
    return _names((*wanted.asked_when, *foreign))


def own_ids(search: Step) -> dict[str, str]:
    """The ids of the steps at which each kind of plant was asked before a search, by quantity."""
    return {name: name.replace("_", "-") for name in kinds_in(search)}


def step_of_its_own(search: Step, kind: Quantity) -> Step:
    """The step at which a kind of plant was asked before a search."""
    return replace(reading_step(search, kind, ""), id=own_ids(search)[kind.id])


def kind_why(wanted: Quantity) -> str:
    """Why a kind of plant is asked now."""
    return f"What a reading of '{wanted.title}' says hangs on it."


def _names(conditions: Iterable[Condition]) -> tuple[str, ...]:
    named = (name for each in conditions for name in quantities_in(each))
    return tuple(dict.fromkeys(named))
