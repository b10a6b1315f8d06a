"""How much faster the tables are than the library: python tests/benchmarks/bench_saturation.py.

Prints microseconds for a call and the ratio, for one blend and one pure refrigerant, both lines
and both ways; ends with 1 if a blend call is less than 50 times faster.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import perf_counter

from CoolProp.CoolProp import PropsSI

from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import saturation

WANTED = 50


def seconds(call: Callable[[float], object], values: list[float], least: float = 0.3) -> float:
    """Best of three of the mean time of a call over different values."""
    best = float("inf")
    for _ in range(3):
        count, start = 0, perf_counter()
        while perf_counter() - start < least:
            for value in values:
                call(value)
            count += len(values)
        best = min(best, (perf_counter() - start) / count)
    return best


def compare(name: str) -> list[float]:
    """Print a line for each kind of call; ratios of library to table."""
    fluid, model = saturation(name), refrigerant(name).model
    temperatures = [235.0 + i for i in range(70)]
    dew = [fluid.dew_pressure(t) for t in temperatures]
    bubble = [fluid.bubble_pressure(t) for t in temperatures]
    calls: tuple[tuple[str, Callable[[float], object], Callable[[float], object], list[float]], ...]
    calls = (
        (
            "dew pressure",
            fluid.dew_pressure,
            lambda t: PropsSI("P", "T", t, "Q", 1, model),
            temperatures,
        ),
        (
            "bubble pressure",
            fluid.bubble_pressure,
            lambda t: PropsSI("P", "T", t, "Q", 0, model),
            temperatures,
        ),
        (
            "dew temperature",
            fluid.dew_temperature,
            lambda p: PropsSI("T", "P", p, "Q", 1, model),
            dew,
        ),
        (
            "bubble temperature",
            fluid.bubble_temperature,
            lambda p: PropsSI("T", "P", p, "Q", 0, model),
            bubble,
        ),
    )
    ratios = []
    for title, ours, theirs, values in calls:
        mine, library = seconds(ours, values), seconds(theirs, values)
        ratios.append(library / mine)
        print(
            f"{name:8} {title:20} table {mine * 1e6:7.2f} us   library {library * 1e6:8.1f} us"
            f"   {library / mine:7.0f} times"
        )
    return ratios


def main() -> int:
    """Compare and judge."""
    blend = compare("R-449A")
    compare("R-22")
    print(f"least ratio for the blend: {min(blend):.0f} (wanted {WANTED})")
    return 0 if min(blend) >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
