"""How long a practice plant takes to answer: a reading, and an action after which it stands anew.

`python tests/benchmarks/bench_practice.py` prints both over the shipped exercises.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from statistics import median

sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[1] / "practice")]

from practice_made import act, attempt_at, read, shipped_setting  # noqa: E402


def main() -> None:
    """Print the figures, by the clock on the wall and by the processor's own."""
    reads: list[tuple[float, float]] = []
    acts: list[tuple[float, float]] = []
    for exercise in shipped_setting().exercises.values():
        attempt = attempt_at(exercise)
        for name in [*attempt.told_at_call][:40]:
            quantity = attempt.rulebase.quantities.get(name)
            alarmed = exercise.alarm is not None
            if quantity and not quantity.derivation and attempt.at_hand(quantity) and not alarmed:
                begun = time.perf_counter(), time.process_time()
                read(attempt, name)
                reads.append((time.perf_counter() - begun[0], time.process_time() - begun[1]))
        attempt = attempt_at(exercise)
        ready = [a for a in attempt.setting.actions.values() if a.holds]
        repairs = [a for a in attempt.setting.actions.values()
                   if set(a.repairs) & set(exercise.faults)]  # fmt: skip
        for action in (*reversed(ready), *repairs):
            begun = time.perf_counter(), time.process_time()
            act(attempt, action.id)
            acts.append((time.perf_counter() - begun[0], time.process_time() - begun[1]))
    for what, took in (("reading", reads), ("action", acts)):
        for clock, times in zip(("wall", "processor"), zip(*took, strict=True), strict=True):
            told = f"median {median(times) * 1000:.1f} ms, most {max(times) * 1000:.1f} ms"
            print(f"{what}, {clock}: {len(times)}, {told}")


if __name__ == "__main__":
    main()
