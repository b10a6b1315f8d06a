"""How many plants are solved in a second of one core, and what a whole case costs.

`python tests/benchmarks/bench_plant.py`
"""

from __future__ import annotations

import time

from expert.plant.cases import every_fault, make_cases
from expert.plant.draw import draw
from expert.plant.solve import solve


def main() -> None:
    """Print it."""
    plants = draw(2, 1000, "R-448A", low_temperature=True, weather="mild").plants
    started = time.process_time()
    solved = solve(plants).solved
    spent = time.process_time() - started
    print(f"1000 plants of up to {plants.circuits} circuits: {spent:.1f} s of one core, "
          f"{solved.mean():.1%} solved")  # fmt: skip
    wanted = every_fault(2, 5)
    started = time.process_time()
    count = len(list(make_cases(5, wanted)))
    spent = time.process_time() - started
    print(f"{count} cases of {len(wanted)} wishes, each solved without and with its fault: "
          f"{spent / count * 1000:.0f} ms a case")  # fmt: skip


if __name__ == "__main__":
    main()
