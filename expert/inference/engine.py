"""What the rest of the program knows of an engine: rules without negation in, firings out.

Two back ends give identical firings: durable_rules where it can be built, and a plain forward
chainer in Python. Negation, comparison and uncertainty are settled by the caller before this.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from expert.errors import RackwalkError
from expert.made_when_used import dataclass


@dataclass(frozen=True)
class HornRule:
    """When every fact of the body is present, every fact of the head is concluded.

    Facts are any short text and are compared as they are written. An empty body always holds;
    an empty head concludes nothing, but the rule still fires.
    """

    name: str
    body: tuple[str, ...]
    head: tuple[str, ...]


@dataclass(frozen=True)
class Firing:
    """A rule that fired, with the facts it fired on and the facts it concluded."""

    rule: str
    body: tuple[str, ...]
    head: tuple[str, ...]


Program = Sequence[HornRule]


class EngineError(RackwalkError):
    """Rules that an engine cannot take, or an engine that failed while it ran."""


class Engine(Protocol):
    """A compiled program. `name` is 'durable' or 'plain'; `reason` says why this one was taken."""

    @property
    def name(self) -> str:
        """Short name of the engine."""
        ...

    @property
    def reason(self) -> str:
        """Why this one was taken."""
        ...

    def run(self, facts: Iterable[str]) -> tuple[Firing, ...]:
        """Every rule that holds once nothing more follows from the facts, each exactly once.

        Sorted by rule name, then by the order of definition; the order of the facts is of no
        consequence. Raises EngineError if the engine fails.
        """
        ...

    def describe(self) -> str:
        """One sentence for a report: which engine this is, and why it was taken."""
        ...


def firings_in_order(rules: Program) -> tuple[dict[int, int], tuple[Firing, ...]]:
    """Every possible firing in the order of `Engine.run`, and where each rule's firing stands."""
    ranked = sorted(range(len(rules)), key=lambda index: rules[index].name)
    firings = tuple(Firing(rules[i].name, rules[i].body, rules[i].head) for i in ranked)
    return {index: rank for rank, index in enumerate(ranked)}, firings


def fact_set(facts: Iterable[str]) -> set[str]:
    """The facts without repetition. Raises EngineError for one text in place of many."""
    if isinstance(facts, str):
        raise EngineError(f"Facts must be a list of texts, not the single text '{facts}'.")
    return set(facts)
