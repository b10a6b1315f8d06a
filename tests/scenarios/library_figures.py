"""What the library of whole cases says about the rulebase, in numbers.

`python tests/scenarios/library_figures.py` prints how often the right cause comes first, the
confusion table, the causes that the readings of the library cannot part, and what one wrong
reading does.
Published cases, as they are printed, have figures of their own:
tests/published/published_figures.py.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from expert.author.scenarios.read import Scenario, ScenarioRunner, load_scenarios
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading, each_finding
from expert.inference.findings import findings_of, nest
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.model import Quantity
from expert.places import shipped
from expert.units.kinds import Kind
from expert.units.measure import Measure

FOLDER = Path(__file__).parent
NOTHING = "nothing found"
FAHRENHEIT, PSI = 5 / 9, 6894.757
STEPS = {  # the size of the error that is put in; the brief of the test, not knowledge
    Kind.TEMPERATURE: FAHRENHEIT,
    Kind.TEMPERATURE_DIFFERENCE: FAHRENHEIT,
    Kind.GAUGE_PRESSURE: PSI,
    Kind.PRESSURE_DIFFERENCE: PSI,
}


@dataclass
class Ranks:
    """Where the expected cause of each case was ranked; `confused` counts (expected, found)."""

    judged: int = 0
    first: int = 0
    in_three: int = 0
    healthy: int = 0
    silent: int = 0
    confused: Counter[tuple[str, str]] = field(default_factory=Counter)
    late: list[str] = field(default_factory=list)


def ranks(scenarios: Iterable[Scenario], scenario_runner: ScenarioRunner) -> Ranks:
    """How often the right cause comes first, of the cases that say which that is."""
    told = Ranks()
    for scenario in scenarios:
        expect = scenario.expect
        if expect.none:
            told.healthy += 1
            told.silent += not scenario_runner.evaluate(scenario).findings
        right = {expect.first, *expect.tied} - {""}
        if not right:
            continue
        findings = scenario_runner.evaluate(scenario).findings
        order = [finding.cause.id for finding in findings]
        top = [f.cause.id for f in findings if f.certainty > findings[0].certainty - 0.005]
        leading = bool(right & set(order[:1])) or bool(expect.tied and right & set(top))
        told.judged += 1
        told.first += leading
        told.in_three += bool(right & set(order[:3]))
        if not leading:
            told.late.append(Path(scenario.place.path).stem)
        told.confused[expect.first or "/".join(expect.tied), order[0] if order else NOTHING] += 1
    return told


@dataclass
class OneWrong:
    """What became of cases with one reading moved; `missed` are wrong ones nobody was warned of.

    `names` are how many readings were named in each of the cases that came out wrong, `alarms`
    how many in each case as it was given.
    """

    moved: int = 0
    right: int = 0
    named: int = 0
    names: list[int] = field(default_factory=list)
    alarms: list[int] = field(default_factory=list)
    healthy_alarms: list[int] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)

    @property
    def wrong(self) -> int:
        """How many came out wrong."""
        return self.moved - self.right


def one_wrong(
    scenarios: Iterable[Scenario], scenario_runner: ScenarioRunner, size: float = 5.0
) -> OneWrong:
    """Every case that comes out right, with each of its numbers in turn `size` F or psi off."""
    told = OneWrong()
    for scenario in scenarios:
        evaluator, found = scenario_runner.evaluator(scenario), scenario.given.found
        readings = scenario.given.readings
        if scenario.expect.none:
            told.healthy_alarms.append(len(evaluator.evaluate(readings, found).doubts))
        right = scenario.expect.first
        if not right or first_cause(evaluator, readings, found) != right:
            continue
        told.alarms.append(len(evaluator.evaluate(readings, found).doubts))
        for index, changed in moved(
            readings, scenario_runner.rulebase.quantities.__getitem__, size
        ):
            told.moved += 1
            if first_cause(evaluator, changed, found) == right:
                told.right += 1
                continue
            name = readings[index].quantity
            doubts = evaluator.evaluate(changed, found).doubts
            told.names.append(len(doubts))
            if name in [doubt.quantity.id for doubt in doubts]:
                told.named += 1
            else:
                told.missed.append(f"{Path(scenario.place.path).stem}: {name}")
    return told


def first_cause(
    evaluator: Evaluator, readings: Sequence[Reading], found: Sequence[Reading] | None
) -> str:
    """The cause ranked first, without its sentences."""
    facts, _ = evaluator.facts(readings, found)
    fired = evaluator.run(facts)
    influences = evaluator.influences(facts)
    ranked = nest(findings_of(fired, evaluator.rulebase, influences), influences)
    return ranked[0].cause.id if ranked else NOTHING


def moved(
    readings: Sequence[Reading], quantity_of: Callable[[str], Quantity], size: float
) -> Iterator[tuple[int, tuple[Reading, ...]]]:
    """The readings with one of them too high, then too low; not where nobody could enter it."""
    for index, reading in enumerate(readings):
        value = reading.value
        if not isinstance(value, Measure) or value.kind not in STEPS:
            continue
        quantity = quantity_of(reading.quantity)
        for by in (size, -size):
            other = value.value + by * STEPS[value.kind]
            low, high = quantity.refuse_below, quantity.refuse_above
            if (low is None or other >= low) and (high is None or other <= high):
                wrong = replace(reading, value=replace(value, value=other))
                yield index, (*readings[:index], wrong, *readings[index + 1 :])


def not_parted(
    scenarios: Iterable[Scenario], scenario_runner: ScenarioRunner
) -> list[tuple[str, str, str, str]]:
    """Causes that share the first rank of a case within 0.05: case, both, what would part them."""
    pairs = []
    for scenario in scenarios:
        evaluation = scenario_runner.evaluate(scenario)
        ranked = evaluation.findings
        close = [f for f in ranked[1:] if f.certainty > ranked[0].certainty - 0.05]
        if scenario.expect.first and close:
            below = {each.cause.id for each in each_finding(ranked[0].effects)}
            one, other = ranked[0].cause.id, close[0].cause.id
            left = ", ".join(each.quantity.id for each in evaluation.measure_next[:2])
            if other not in below:
                pairs.append((Path(scenario.place.path).stem, one, other, left or "nothing"))
    return pairs


def main(arguments: Sequence[str] | None = None) -> int:
    """Print everything; `--size` is the error put into one reading, 0 to leave that out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rulebase", type=Path, default=shipped("rulebase"))
    parser.add_argument("--scenarios", type=Path, default=FOLDER)
    parser.add_argument("--size", type=float, default=5.0, help="F and psi")
    options = parser.parse_args(arguments)
    base = load_rulebase(options.rulebase)
    scenarios, scenario_runner = (
        load_scenarios(options.scenarios, base),
        ScenarioRunner(base, "plain"),
    )
    for line in _rank_lines(ranks(scenarios, scenario_runner)):
        print(line)
    print("\nNearly tied for the first rank (case: causes; what would part them)")
    for case, one, other, left in not_parted(scenarios, scenario_runner):
        print(f"  {case}: {one} / {other}; {left}")
    if options.size:
        for line in _wrong_lines(one_wrong(scenarios, scenario_runner, options.size), options.size):
            print(line)
    return 0


def _rank_lines(told: Ranks) -> Iterator[str]:
    yield f"first right: {told.first} of {told.judged}"
    yield f"in the first three: {told.in_three} of {told.judged}"
    yield f"healthy without a finding: {told.silent} of {told.healthy}"
    yield "\nConfusion (expected -> found first: how often)"
    for (expected, found), times in sorted(told.confused.items()):
        mark = "" if found in expected.split("/") else "  *"
        yield f"  {expected} -> {found}: {times}{mark}"


def _wrong_lines(told: OneWrong, size: float) -> Iterator[str]:
    yield f"\nOne reading {size:g} F or psi off: {told.right} of {told.moved} still right first"
    yield f"of the others the wrong reading is named: {told.named} of {told.wrong}"
    for what, counts in (
        ("case that came out wrong", told.names), ("right case as it was given", told.alarms),
        ("healthy case as it was given", told.healthy_alarms),
    ):  # fmt: skip
        mean = sum(counts) / max(len(counts), 1)
        some = sum(count > 0 for count in counts)
        yield f"readings named in a {what}: {mean:.2f} (some in {some} of {len(counts)})"
    for missed in told.missed:
        yield f"  not named: {missed}"


if __name__ == "__main__":
    sys.exit(main())
