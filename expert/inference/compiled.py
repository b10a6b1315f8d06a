"""What was compiled of a rulebase, kept as long as the rulebase is.

A job, its report and its sheet each have evaluators of their own over the same rules.
"""

from __future__ import annotations

from collections.abc import Mapping
from weakref import finalize

from expert.inference.chainer import PlainEngine
from expert.inference.make_engine import Backend
from expert.inference.program import Stratum, compile_strata
from expert.knowledge.model import Rule, Rulebase

Compiled = dict[tuple[str, ...], tuple[Stratum, ...]]  # by the ids of the rules

MOST = 100  # sets of rules of one rulebase (own choice); a plant of each kind needs a few

_kept: dict[int, dict[Backend, Compiled]] = {}  # by the identity of a rulebase that is in use


def strata_of(
    rulebase: Rulebase, rules: Mapping[str, Rule], backend: Backend
) -> tuple[Stratum, ...]:
    """The strata of some rules of a rulebase, compiled once where several may share them.

    Those of durable_rules are made anew: they hold a session, and belong to one thread.
    """
    if id(rulebase) not in _kept:
        _kept[id(rulebase)] = {}
        finalize(rulebase, _kept.pop, id(rulebase), None).atexit = False
    made = _kept[id(rulebase)].setdefault(backend, {})
    key = tuple(rules)
    if (found := made.get(key)) is None:
        found = compile_strata(rules, backend)
        if all(isinstance(each.engine, PlainEngine) for each in found):
            if len(made) >= MOST:
                made.clear()
            made[key] = found
    return found
