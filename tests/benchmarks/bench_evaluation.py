"""A whole job evaluated: python tests/benchmarks/bench_evaluation.py

Derived values, states, chaining, findings with their reasons. As at every answer: between two
evaluations one number has changed, and what does not hang on it is kept. And as another job: every
number has changed, so that nothing is kept. Prints milliseconds of this machine and, to compare
between machines, ratios to reading the same number of small JSON documents in the same run.
"""

from __future__ import annotations

import json
import random
import statistics
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import get_args

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from report_jobs import played

from expert.cli.job.cache import uncollected
from expert.errors import RackwalkError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.inference.make_engine import Backend
from expert.knowledge.model import Quantity, Rulebase
from expert.procedure.picture import fold
from expert.units.kinds import Kind
from expert.units.measure import Measure

RUNS = 300
DOUBTED = (10, 50, 100, 150)  # readings; a circuit has 152 numbers that can be read


def answers(readings: tuple[Reading, ...]) -> Iterator[tuple[Reading, ...]]:
    """The readings again and again, each time with another one of them a little changed."""
    kept = list(readings)
    numbers = [index for index, each in enumerate(kept) if isinstance(each.value, Measure)]
    while True:
        for index in numbers:
            value = kept[index].value
            assert isinstance(value, Measure)
            changed = replace(value, value=value.value * 1.0001)
            kept[index] = replace(kept[index], value=changed)
            yield tuple(kept)


def jobs(readings: tuple[Reading, ...]) -> Iterator[tuple[Reading, ...]]:
    """The readings again and again, each time all numbers a little changed."""
    factor = 1.0
    while True:
        factor *= 1.0001
        yield tuple(
            replace(each, value=replace(each.value, value=each.value.value * factor))
            if isinstance(each.value, Measure)
            else replace(each)
            for each in readings
        )


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


def copied(rules: Rulebase, times: int) -> Rulebase:
    """The rulebase with every rule so many times."""
    made = [
        replace(rule, id=f"{rule.id}-{n}") for n in range(times) for rule in rules.rules.values()
    ]
    return replace(rules, rules={rule.id: rule for rule in made})


def main() -> None:
    """Print a line for each engine and size."""
    entries, runner = played("a4-low-differential", "A4")
    readings = tuple(r for r in runner.readings(fold(entries)) if r.stage == "as found")
    text = json.dumps([[reading.quantity, reading.text] for reading in readings])
    base = statistics.median(timed(lambda: json.loads(text)))
    rules = runner.rulebase
    print(f"{len(readings)} readings, {len(rules.quantities)} quantities")
    for rulebase in (rules, copied(rules, 7)):
        print(f"{len(rulebase.rules)} rules")
        for backend in get_args(Backend):
            try:
                line = measured(
                    Evaluator(rulebase, runner.subject, backend=backend), readings, base
                )
            except RackwalkError as error:
                line = str(error)
            print(f"  {backend:8} {line}")
    evaluator = Evaluator(rules, runner.subject)
    evaluator.prepare()
    tell_doubts(evaluator)


def somehow_read(evaluator: Evaluator, count: int) -> tuple[Reading, ...]:
    """So many numbers of a subject, each about the middle of its limit or of what is usual."""
    chance = random.Random(count)
    there = [
        each
        for each in evaluator.rulebase.quantities.values()
        if not each.is_choice and each.kind is not Kind.TEXT and not each.derivation
        and not each.given and each.id not in evaluator.foreign
        and each.subject in ("site", "rack", evaluator.subject.kind)
    ]  # fmt: skip
    return tuple(
        Reading(each.id, Measure(each.kind, _middle(each, evaluator) * chance.uniform(0.97, 1.03)))
        for each in chance.sample(there, count)
    )


def _middle(quantity: Quantity, evaluator: Evaluator) -> float:
    limit = evaluator.limits.get(quantity.id)
    for edges in (
        (limit.low, limit.high) if limit else (),
        (quantity.unusual_below, quantity.unusual_above),
        (quantity.refuse_below, quantity.refuse_above),
    ):
        if there := [edge for edge in edges if edge is not None]:
            return statistics.mean(there)
    return 300.0


def tell_doubts(evaluator: Evaluator) -> None:
    """The readings to take again, at several numbers of readings: what one of them costs [ms]."""
    each: dict[int, float] = {}
    _ = evaluator.evaluate(somehow_read(evaluator, 5)).doubts  # the first compiles what all use
    for count in DOUBTED:
        evaluation = evaluator.evaluate(somehow_read(evaluator, count))
        start = time.process_time()
        _ = evaluation.doubts
        each[count] = (time.process_time() - start) * 1e3 / count
        print(f"doubts at {count} readings: {each[count] * count:.0f} ms, {each[count]:.2f} each")
    growth = each[DOUBTED[-1]] / each[DOUBTED[0]]
    kept = "met" if growth <= 1.2 else "MISSED"
    print(f"a reading at {DOUBTED[-1]} to one at {DOUBTED[0]}: {growth:.1f}, wanted 1: {kept}")


def measured(evaluator: Evaluator, readings: tuple[Reading, ...], base: float) -> str:
    """Median and 99th percentile of an evaluator; `base` [ms] is what they are held against."""
    with uncollected():  # as in the program
        evaluator.evaluate(readings)
    told = []
    for name, changed in (("an answer", answers(readings)), ("another job", jobs(readings))):
        taken = timed(lambda: evaluator.evaluate(next(changed)))  # noqa: B023
        median, p99 = statistics.median(taken), taken[int(len(taken) * 0.99)]
        told.append(f"{name}: median {median:.2f} ms, p99 {p99:.2f} ms, {median / base:.0f} x JSON")
    return f"({evaluator.engine}): {'; '.join(told)}"


if __name__ == "__main__":
    main()
