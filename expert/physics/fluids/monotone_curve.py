"""A monotonic curve of ln y against 1/T, from knots and slopes: no library, microseconds."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence


class MonotoneCurve:
    """Cubic Hermite curve of ln y over 1/T [1/K]; y must grow or fall with T throughout."""

    __slots__ = (
        "_inverse",
        "_logs",
        "_rising",
        "_slopes",
        "_sought",
        "_temperatures",
        "high",
        "low",
    )

    def __init__(
        self, temperatures: Sequence[float], logs: Sequence[float], slopes: Sequence[float]
    ) -> None:
        """Knots: temperatures [K] ascending, ln y, and d ln y / d(1/T) [K]."""
        self._temperatures = list(temperatures)
        self._inverse = [1.0 / t for t in temperatures]
        self._logs = list(logs)
        self._slopes = list(slopes)
        self._rising = logs[-1] > logs[0]
        self._sought = self._logs if self._rising else [-value for value in self._logs]
        self.low, self.high = self._temperatures[0], self._temperatures[-1]

    @property
    def ends(self) -> tuple[float, float]:
        """y at the lowest and at the highest temperature."""
        return math.exp(self._logs[0]), math.exp(self._logs[-1])

    def value(self, temperature: float) -> float:
        """y at a temperature [K] between `low` and `high`; the caller has checked."""
        i = self._interval(self._temperatures, temperature)
        x0 = self._inverse[i]
        width = self._inverse[i + 1] - x0
        c0, c1, c2, c3 = self._coefficients(i, width)
        s = (1.0 / temperature - x0) / width
        return math.exp(c0 + s * (c1 + s * (c2 + s * c3)))

    def logarithmic_slope(self, temperature: float) -> float:
        """d ln y / dT [1/K] at a temperature [K]."""
        i = self._interval(self._temperatures, temperature)
        x0 = self._inverse[i]
        width = self._inverse[i + 1] - x0
        _, c1, c2, c3 = self._coefficients(i, width)
        s = (1.0 / temperature - x0) / width
        slope = (c1 + s * (2 * c2 + s * 3 * c3)) / width
        return -slope / (temperature * temperature)

    def temperature(self, value: float) -> float:
        """Temperature [K] at which y has this value, between its `ends`."""
        log = math.log(value)
        i = self._interval(self._sought, log if self._rising else -log)
        x0 = self._inverse[i]
        width = self._inverse[i + 1] - x0
        c0, c1, c2, c3 = self._coefficients(i, width)
        s = (log - c0) / (self._logs[i + 1] - c0)
        for _ in range(20):
            miss = c0 + s * (c1 + s * (c2 + s * c3)) - log
            change = miss / (c1 + s * (2 * c2 + s * 3 * c3))
            s -= change
            if abs(change) < 1e-13:
                break
        return 1.0 / (x0 + s * width)

    def is_monotonic(self) -> bool:
        """Whether no interval turns back (Fritsch and Carlson 1980, sufficient condition)."""
        for i in range(len(self._logs) - 1):
            width = self._inverse[i + 1] - self._inverse[i]
            secant = (self._logs[i + 1] - self._logs[i]) / width
            a, b = self._slopes[i] / secant, self._slopes[i + 1] / secant
            if not (a > 0 and b > 0 and a * a + b * b <= 9):
                return False
        return True

    def _interval(self, ascending: list[float], value: float) -> int:
        return min(max(bisect_right(ascending, value) - 1, 0), len(ascending) - 2)

    def _coefficients(self, i: int, width: float) -> tuple[float, float, float, float]:
        y0, y1 = self._logs[i], self._logs[i + 1]
        m0, m1 = self._slopes[i] * width, self._slopes[i + 1] * width
        return y0, m0, 3 * (y1 - y0) - 2 * m0 - m1, 2 * (y0 - y1) + m0 + m1
