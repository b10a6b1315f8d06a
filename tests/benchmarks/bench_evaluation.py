"""A whole job evaluated: python tests/benchmarks/bench_evaluation.py

Derived values, states, chaining, findings with their reasons, next reading: all from scratch, as
at every answer. Prints milliseconds of this machine and, to compare between machines, ratios to
reading the same number of small JSON documents in the same run.
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from pathlib import Path
from typing import get_args

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from report_jobs import played

from expert.errors import RackwalkError
from expert.inference.engine import Backend
from expert.inference.evaluate import Evaluator
from expert.procedure.picture import fold

RUNS = 300


def timed(call: object, runs: int = RUNS) -> list[float]:
    """Milliseconds of each run, after ten that do not count."""
    assert callable(call)
    taken = []
    for number in range(runs + 10):
        start = time.perf_counter()
        call()
        if number >= 10:
            taken.append((time.perf_counter() - start) * 1e3)
    return sorted(taken)


def main() -> None:
    """Print a line for each engine."""
    entries, runner = played("a4-low-differential", "A4")
    readings = tuple(r for r in runner.readings(fold(entries)) if r.stage == "as found")
    text = json.dumps([[reading.quantity, reading.text] for reading in readings])
    base = statistics.median(timed(lambda: json.loads(text)))
    rules = runner.rulebase
    print(f"{len(readings)} readings, {len(rules.rules)} rules, {len(rules.quantities)} quantities")
    for backend in get_args(Backend):
        try:
            evaluator = Evaluator(rules, runner.subject, backend=backend)
        except RackwalkError as error:
            print(f"{backend}: {error}")
            continue
        taken = timed(lambda evaluator=evaluator: evaluator.evaluate(readings))
        median, p99 = statistics.median(taken), taken[int(len(taken) * 0.99)]
        print(
            f"{backend:8} ({evaluator.engine}): median {median:.2f} ms, p99 {p99:.2f} ms, "
            f"{median / base:.0f} x reading the readings as JSON"
        )


if __name__ == "__main__":
    main()
