"""What instruments make of true values on one visit: bias, repeatability, resolution.

Sizes are common practice for service instruments in order, half of what is usually stated as
their accuracy taken as one standard deviation. A bias belongs to the instrument and stays the same
for the whole visit, so that the difference of two readings of one gauge does not carry it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from expert.plant.design import PSI

F = 5 / 9


@dataclass(frozen=True)
class Tool:
    """Standard deviations of bias and of repetition, and the last digit (SI)."""

    bias: float
    repeat: float
    digit: float


TOOLS = {
    "high gauge": Tool(0.6 * PSI, 0.3 * PSI, 0.5 * PSI),
    "low gauge": Tool(0.25 * PSI, 0.12 * PSI, 0.1 * PSI),
    "clamp": Tool(0.5 * F, 0.3 * F, 0.1 * F),
    "thermometer": Tool(0.5 * F, 0.3 * F, 0.1 * F),
    "display pressure": Tool(0.0, 0.1 * PSI, 0.1 * PSI),
    "display temperature": Tool(0.0, 0.1 * F, 0.1 * F),
    "level": Tool(0.015, 0.015, 0.01),
    "touch": Tool(0.0, 0.03, 0.01),
    "share": Tool(0.0, 0.02, 0.01),
    "humidity": Tool(0.015, 0.01, 0.01),
    "record temperature": Tool(0.0, 1.0 * F, 0.1 * F),
    "record level": Tool(0.0, 0.015, 0.01),
    "minutes": Tool(0.0, 10.0, 6.0),
    "ammeter": Tool(0.015, 0.01, 0.01),
    "length": Tool(0.0, 0.15, 0.3048),
    "paper": Tool(0.0, 0.0, 0.0),
}
CONTACT = 0.02  # share of the way to the air that a clamp on a dull pipe reads (common practice)
NOTICED = 0.3  # a mark of this size is seen half of the time
IMAGINED = 0.0005  # share of looks in which nothing is taken for something (own choice)
DOUBT = 0.11  # standard deviation of what a look takes it for


@dataclass
class Visit:
    """One technician with one set of instruments on one day."""

    rng: Generator

    def __post_init__(self) -> None:
        self.biases = {name: self.rng.normal(0, tool.bias) for name, tool in TOOLS.items()}
        self.contact = abs(self.rng.normal(0, CONTACT))

    def take(self, tool: str, true: float, surroundings: float | None = None) -> float:
        """A reading of a true value; a clamp also reads a little of its surroundings [K]."""
        kind = TOOLS[tool]
        value = true
        if tool == "clamp" and surroundings is not None:
            value += self.contact * (surroundings - true)
        value += self.biases[tool] + self.rng.normal(0, kind.repeat)
        return float(value)

    def sees(self, mark: float, noticed: float = NOTICED) -> bool:
        """Whether a mark of this size, 0 to 1, is seen; hardly ever where there is none."""
        if mark <= 0:
            return self.happens(IMAGINED)
        return bool(mark + self.rng.normal(0, DOUBT) > noticed)

    def happens(self, chance: float) -> bool:
        """Whether something of a probability is so."""
        return bool(self.rng.random() < chance)


def rounded(tool: str, value: float, offset: float = 0.0) -> float:
    """A value at the last digit of the tool, counted from `offset` (the barometer of a gauge)."""
    digit = TOOLS[tool].digit
    return value if digit == 0 else float(np.round((value - offset) / digit) * digit + offset)
