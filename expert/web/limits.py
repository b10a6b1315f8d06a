"""How often one may ask: a bucket for each visitor that fills again with time."""

from __future__ import annotations

from collections.abc import Callable
from threading import Lock
from time import monotonic

MOST_VISITORS = 5000  # of whom something is remembered (own choice)


class RateLimit:
    """So many requests at once and so many a second after that, for each visitor (own choices)."""

    def __init__(
        self, at_once: float, a_second: float, clock: Callable[[], float] = monotonic
    ) -> None:
        self._at_once, self._a_second, self._clock = at_once, a_second, clock
        self._left: dict[str, tuple[float, float]] = {}
        self._lock = Lock()

    def allows(self, visitor: str) -> bool:
        """Whether one more request is within the limit; it counts if so."""
        now = self._clock()
        with self._lock:
            left, at = self._left.pop(visitor, (self._at_once, now))
            left = min(self._at_once, left + (now - at) * self._a_second)
            allowed = left >= 1
            self._left[visitor] = (left - 1 if allowed else left, now)
            if len(self._left) > MOST_VISITORS:  # who asked longest ago has a full bucket
                self._left.pop(next(iter(self._left)))
            return allowed
