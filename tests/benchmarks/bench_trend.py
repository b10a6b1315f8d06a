"""Logs of weeks read and judged: python tests/benchmarks/bench_trend.py

Makes an invented log with faults put in on purpose (tests/trend/simulate.py), reads and judges it,
and prints: time to read and to judge, also as a ratio to splitting the same file with Python's csv
module in the same run; how near the found times are to the simulated ones; faults found and
missed; findings on healthy circuits. `--small N` does N small logs of other seeds instead, to show
that the numbers by which curves are read fit no single log.
"""

from __future__ import annotations

import argparse
import csv
import json
import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "trend"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np
from simulate import EXPECTED, write

from expert.cli.job.load_knowledge import load_rules
from expert.inference.evaluation_model import each_finding
from expert.knowledge.load_site import load_site
from expert.trend.judge_log import CircuitTrend, analyse, circuits_in
from expert.trend.table import read_table


def judged(folder: Path) -> tuple[list[CircuitTrend], dict[str, float], int]:
    """The trends of a log, CPU and wall seconds of each part, and its rows."""
    took: dict[str, float] = {}

    def done(name: str) -> None:
        took[name] = time.process_time() - start[0]
        took[f"{name} wall"] = time.perf_counter() - start[1]
        start[:] = [time.process_time(), time.perf_counter()]

    start = [time.process_time(), time.perf_counter()]
    rules = load_rules(None)
    site = load_site(folder / "site.yaml", rules)
    assert site.log is not None
    done("rules and site")
    table = read_table(folder / "log.csv", site.log, rules.quantities)
    done("read")
    trends = analyse(table, site, rules, circuits_in(site, table))
    done("judge")
    return trends, took, len(table.seconds)


def score(folder: Path, trends: list[CircuitTrend]) -> tuple[list[str], list[str], list[str]]:
    """Faults missed, findings on healthy circuits, findings beside the fault on faulty ones."""
    truth = json.loads((folder / "truth.json").read_text())
    missed, false, beside = [], [], []
    for trend in trends:
        fault = truth[trend.subject.id]["fault"]
        assert trend.evaluation is not None
        found = {each.cause.id for each in each_finding(trend.evaluation.findings)}
        top = [each.cause.id for each in trend.evaluation.findings]
        name = f"{trend.subject.id} {fault or 'healthy'}"
        if not fault:
            false += [f"{name}: {each}" for each in sorted(found)]
        elif EXPECTED[fault] not in found:
            missed.append(name)
        if fault:
            beside += [f"{name}: {each}" for each in top if each != EXPECTED[fault]]
    return missed, false, beside


def errors(folder: Path, trends: list[CircuitTrend]) -> dict[str, list[float]]:
    """Found less simulated time [min] of begin, end and cooling on; how many defrosts there are."""
    truth = json.loads((folder / "truth.json").read_text())
    found: dict[str, list[float]] = {}
    for trend in trends:
        true = np.array(truth[trend.subject.id]["defrosts"], float)
        kind = trend.subject.facts["defrost"]
        for each in trend.defrosts:
            nearest = true[np.abs(true[:, 0] - each.start).argmin()]
            if not each.judged or not each.heated or abs(nearest[0] - each.start) > 900:
                continue
            for name, value, right in zip(
                ("start", "end", "cooling"), (each.start, each.end, each.cooling), nearest,
                strict=True,
            ):  # fmt: skip
                if value is not None:
                    found.setdefault(f"{kind}, {name}", []).append((value - right) / 60)
        found.setdefault("defrosts simulated", []).append(len(true))
        found.setdefault("defrosts found", []).append(len(trend.defrosts))
    return found


def csv_only(path: Path) -> float:
    """CPU seconds to split a file."""
    start = time.process_time()
    with path.open(encoding="utf-8", newline="") as file:
        for _ in csv.reader(file):
            pass
    return time.process_time() - start


def big(days: int, circuits: int, seed: int) -> None:
    """One long log."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write(folder, days=days, circuits=circuits, seed=seed)
        size = (folder / "log.csv").stat().st_size / 1e6
        trends, took, rows = judged(folder)
        plain = csv_only(folder / "log.csv")
        print(f"{rows} rows, {size:.0f} MB, {len(trends)} circuits")
        for part in ("rules and site", "read", "judge"):
            ratio = took[part] / plain
            print(f"{part:<15} CPU {took[part]:6.1f} s, wall {took[f'{part} wall']:6.1f} s, "
                  f"{ratio:.1f} times splitting the CSV")  # fmt: skip
        print(f"memory at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
        for name, values in errors(folder, trends).items():
            if name.startswith("defrosts"):
                print(f"{name}: {sum(values):.0f}")
            else:
                low, middle, high = np.percentile(values, (5, 50, 95))
                print(f"{name}: {middle:+.2f} min ({low:+.2f} to {high:+.2f}), n {len(values)}")
        for what, said in zip(("missed", "false", "beside"), score(folder, trends), strict=True):
            print(f"{what}: {len(said)} {'; '.join(said)}")


def small(count: int, days: int, circuits: int, first: int, noise: float, every: float) -> None:
    """Many short logs."""
    total = [0, 0, 0, 0, 0]
    for seed in range(first, first + count):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            truth = write(folder, days=days, circuits=circuits, seed=seed, noise=noise, every=every)
            trends, _, _ = judged(folder)
            said = score(folder, trends)
            faulty = sum(bool(each) for each in truth.values())
            counts = (faulty, len(truth) - faulty, *map(len, said))
            total = [a + b for a, b in zip(total, counts, strict=True)]
            print(f"seed {seed}: missed {said[0]}, false {said[1]}, beside {said[2]}", flush=True)
    print(
        f"noise {noise:g}, a sample every {every:g} min, {count} logs of {days} days: "
        f"{total[0]} faults, {total[2]} missed; {total[1]} healthy circuits, {total[3]} false "
        f"findings; {total[4]} findings beside the fault"
    )


def main() -> None:
    """Do what the options say."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int)
    parser.add_argument("--circuits", type=int)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--small", type=int, default=0, metavar="N")
    parser.add_argument("--noise", type=float, default=1.0)
    parser.add_argument("--every", type=float, default=1.0, help="minutes between samples")
    told = parser.parse_args()
    if told.small:
        small(told.small, told.days or 14, told.circuits or 14, told.seed, told.noise, told.every)
    else:
        big(told.days or 90, told.circuits or 24, told.seed)


if __name__ == "__main__":
    main()
