"""A plain forward chainer: the judge of the other engine in tests, and its stand-in.

Every rule counts how many facts of its body are still missing; a fact, when it becomes known,
lowers the count of the rules that use it. Each pair of rule and fact is touched once, so a run
takes time in proportion to the facts and the rules they touch (the method of Dowling and
Gallier, "Linear-time algorithms for testing the satisfiability of propositional Horn
formulae", Journal of Logic Programming 1, 1984; from memory).
"""

from __future__ import annotations

from collections.abc import Iterable

from expert.inference.engine import Firing, Program, fact_set, firings_in_order


class PlainEngine:
    """An Engine in plain Python. It has no limits, keeps nothing between runs and is safe to share
    between threads.
    """

    name = "plain"

    def __init__(self, rules: Program, reason: str) -> None:
        """Compiled rules; `reason` is kept for the report."""
        self.reason = reason
        ranks, self._firings = firings_in_order(rules)
        self._missing = [0] * len(rules)
        self._users: dict[str, list[int]] = {}
        for index, rule in enumerate(rules):
            body = set(rule.body)
            self._missing[ranks[index]] = len(body)
            for fact in body:
                self._users.setdefault(fact, []).append(ranks[index])
        self._always = [rank for rank, count in enumerate(self._missing) if not count]

    def run(self, facts: Iterable[str]) -> tuple[Firing, ...]:
        """Every firing of the fixed point; see `Engine.run`."""
        known = fact_set(facts)
        missing = self._missing.copy()
        fired = self._always.copy()
        for rank in fired:
            known.update(self._firings[rank].head)
        waiting = list(known)
        while waiting:
            for rank in self._users.get(waiting.pop(), ()):
                missing[rank] -= 1
                if not missing[rank]:
                    fired.append(rank)
                    for fact in self._firings[rank].head:
                        if fact not in known:
                            known.add(fact)
                            waiting.append(fact)
        return tuple(self._firings[rank] for rank in sorted(fired))

    def describe(self) -> str:
        """One sentence for a report; see `Engine.describe`."""
        return f"Plain forward chainer, {len(self._firings)} rules ({self.reason.rstrip('.')})."
