"""The engine for a set of rules: the plain chainer or durable_rules, whichever is quicker."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from expert.inference.chainer import PlainEngine
from expert.inference.engine import Engine, EngineError, Firing, Program, fact_set

# rules; up to here an answer takes half as long on the plain chainer (measured over whole jobs,
# tests/benchmarks/bench_evaluation.py)
SMALL = 1000
LARGEST_DURABLE = 1500  # rules; beyond it each run of durable_rules clears too much memory
Backend = Literal["auto", "durable", "plain"]


def make_engine(rules: Program, backend: Backend = "auto") -> Engine:
    """The rules compiled for an engine.

    'auto' takes the plain forward chainer where that is quicker, for few rules and for very many,
    else durable_rules where it can be imported, and records the reason. Raises EngineError, naming
    the rule, for rules that cannot be compiled, and with 'durable' also where durable_rules cannot
    be used.
    """
    _check(rules)
    if backend == "plain":
        return PlainEngine(rules, "asked for")
    if backend not in ("auto", "durable"):
        raise EngineError(f"There is no engine '{backend}'. Known: auto, durable, plain.")
    if backend == "auto" and len(rules) <= SMALL:
        return PlainEngine(rules, f"quicker up to {SMALL} rules")
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
            self._engine = PlainEngine(self._rules, f"{self.name} failed: {error}")
            return self._engine.run(kept)

    def describe(self) -> str:
        """One sentence for a report."""
        return self._engine.describe()


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
