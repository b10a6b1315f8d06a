"""Whether two readings lie further apart than instruments explain."""

from __future__ import annotations

from expert.plant.design import PSI
from expert.plant.read_defrost import Series

Told = dict[str, float | str | Series]
# What must change until a reading shows something [K, Pa, share]; twice the usual accuracies.
SHOWS = {"K": 3 * 5 / 9, "Pa high": 3 * PSI, "Pa low": 1.5 * PSI, "share": 0.09, "s": 75.0}


def shows(taken: Told, usual: Told) -> bool:
    """Whether anything was read that the same plant in order would not show."""
    return any(differs(name, value, usual.get(name)) for name, value in taken.items())


def differs(
    name: str, value: float | str | Series, other: float | str | Series | None
) -> bool:  # fmt: skip
    """Whether two readings of one thing lie further apart than instruments explain."""
    if isinstance(value, tuple) or isinstance(other, tuple):
        ends = [each[-1][1] for each in (value, other) if isinstance(each, tuple)]
        return len(ends) < 2 or abs(ends[0] - ends[1]) > _least(name, ends[0])
    if isinstance(value, str) or isinstance(other, str) or other is None:
        return value != other
    return abs(value - other) > _least(name, value)


def _least(name: str, value: float) -> float:
    if "time" in name or "delay" in name:
        return SHOWS["s"]
    low = ("suction", "circuit_pressure", "coil_pressure", "vacuum")
    if "pressure" in name or "vacuum" in name or abs(value) > 1000:
        return SHOWS["Pa low"] if any(word in name for word in low) else SHOWS["Pa high"]
    shares = ("level", "share", "opening", "run_time", "humidity", "current")
    return SHOWS["share"] if any(word in name for word in shares) else SHOWS["K"]
