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
        self._numbers: dict[str, int] = {}  # of the facts for which a rule waits
        self._users: list[list[int]] = []
        for index, rule in enumerate(rules):
            body = set(rule.body)
            self._missing[ranks[index]] = len(body)
            for fact in body:
                number = self._numbers.setdefault(fact, len(self._users))
                if number == len(self._users):
                    self._users.append([])
                self._users[number].append(ranks[index])
        self._then = [self._waited_for(each.head) for each in self._firings]
        self._always = [rank for rank, count in enumerate(self._missing) if not count]

    def _waited_for(self, facts: Iterable[str]) -> list[int]:
        return [self._numbers[fact] for fact in facts if fact in self._numbers]

    def run(self, facts: Iterable[str]) -> tuple[Firing, ...]:
        """Every firing of the fixed point; see `Engine.run`."""
        missing = self._missing.copy()
        fired = self._always.copy()
        given = fact_set(facts).union(*(self._firings[rank].head for rank in fired))
        waiting = self._waited_for(given)
        known = bytearray(len(self._users))
        for number in waiting:
            known[number] = True
        for number in waiting:  # grows while it is gone through
            for rank in self._users[number]:
                missing[rank] -= 1
                if not missing[rank]:
                    fired.append(rank)
                    for then in self._then[rank]:
                        if not known[then]:
                            known[then] = True
                            waiting.append(then)
        fired.sort()
        return tuple(map(self._firings.__getitem__, fired))

    def describe(self) -> str:
        """One sentence for a report; see `Engine.describe`."""
        return f"Plain forward chainer, {len(self._firings)} rules ({self.reason.rstrip('.')})."
