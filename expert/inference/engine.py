"""What the rest of the program knows of an engine: rules without negation in, firings out.

Two back ends give identical firings: durable_rules where it can be built, and a plain forward
chainer in Python. Negation, comparison and uncertainty are settled by the caller before this.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from expert.errors import RackwalkError


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
LARGEST_DURABLE = 1500  # rules; beyond it each run of durable_rules clears too much memory
Backend = Literal["auto", "durable", "plain"]


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


def make_engine(rules: Program, backend: Backend = "auto") -> Engine:
    """The rules compiled for an engine.

    'auto' takes durable_rules where it can be imported and there are not too many rules for it,
    else the plain forward chainer, and records the reason. Raises EngineError, naming the rule, for
    rules that cannot be compiled, and with 'durable' also where durable_rules cannot be used.
    """
    from expert.inference.chainer import PlainEngine

    _check(rules)
    if backend == "plain":
        return PlainEngine(rules, "asked for")
    if backend not in ("auto", "durable"):
        raise EngineError(f"There is no engine '{backend}'. Known: auto, durable, plain.")
    if backend == "auto" and len(rules) > LARGEST_DURABLE:
        return PlainEngine(rules, f"quicker for more than {LARGEST_DURABLE} rules")
    from expert.inference.durable import DurableEngine

    if backend == "durable":
        return DurableEngine(rules, "asked for")
    try:
        return FallingBack(DurableEngine(rules, "the default"), rules)
    except EngineError as error:
        return PlainEngine(rules, str(error))


class FallingBack:
    """An engine that the plain chainer replaces, for good, when it fails: the job goes on."""

    def __init__(self, engine: Engine, rules: Program) -> None:
        self._engine = engine
        self._rules = rules

    @property
    def name(self) -> str:
        """Name of the engine that runs now."""
        return self._engine.name

    @property
    def reason(self) -> str:
        """Why that one runs."""
        return self._engine.reason

    def run(self, facts: Iterable[str]) -> tuple[Firing, ...]:
        """As `Engine.run`; never fails because of the engine behind it."""
        kept = fact_set(facts)
        try:
            return self._engine.run(kept)
        except EngineError as error:
            from expert.inference.chainer import PlainEngine

            self._engine = PlainEngine(self._rules, f"{self.name} failed: {error}")
            return self._engine.run(kept)

    def describe(self) -> str:
        """One sentence for a report."""
        return self._engine.describe()


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


def _check(rules: Program) -> None:
    for number, rule in enumerate(rules, 1):
        if not isinstance(rule.name, str) or not rule.name:
            raise EngineError(f"Rule number {number} has no name.")
        for part, facts in (("body", rule.body), ("head", rule.head)):
            if not isinstance(facts, tuple):
                raise EngineError(f"Rule '{rule.name}': its {part} is not a tuple of facts.")
            for fact in facts:
                if not isinstance(fact, str):
                    raise EngineError(f"Rule '{rule.name}': in its {part}, {fact!r} is not text.")
