"""How soon a cause could lead: the next readings chosen by someone who knows the fault.

`python tests/plant/ceiling.py` begins with the first ten readings, as the guided score does, and
then takes what brings the right cause nearest to the lead: one reading, or several that a rule
about it waits for. What is missing even so is for the rules to mend; what this finds and the
guided score does not, for the choice of the next reading.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.inference.findings import findings_of, nest
from expert.inference.waiting import Waiting
from expert.knowledge.load_rulebase import load_rulebase
from expert.places import shipped
from expert.plant.cases import Case, make_cases
from plant.judge import BANDS, MOST_EXTRA, PlantJudge, accepted_for, band_of, flat
from plant.score import SEEDS, wishes

Made = Mapping[str, tuple[Reading, ...]]


def readings_needed(judge: PlantJudge, case: Case) -> int | None:
    """The fewest further readings found after which the right cause leads; None if there are
    none. The search is greedy, so that somebody who plans ahead might need fewer."""
    right = accepted_for(case.faults)
    made = judge.readings(case.readings, case.altitude)
    have = judge.first_ten(case, made)
    evaluator = judge.evaluator(case)
    read = 0
    while True:
        leads, near = _standing(evaluator, have, right)
        if leads:
            return read
        tried = []
        for names in _choices(evaluator, have, made, right):
            if read + len(names) <= MOST_EXTRA:
                then = {**have, **{name: made[name] for name in names}}
                leads, nearer = _standing(evaluator, then, right)
                tried.append((leads, (nearer - near) / len(names), -len(names), names))
        shortest = [each for each in tried if each[0]]
        best = max(shortest, key=lambda each: each[2]) if shortest else max(tried, default=None)
        if best is None or not (best[0] or best[1] > 0):
            return None
        have |= {name: made[name] for name in best[3]}
        read += len(best[3])


def _choices(
    evaluator: Evaluator, have: Made, made: Made, right: set[str]
) -> Iterator[tuple[str, ...]]:
    """What can be read next: each reading alone, and what rules for the right causes wait for."""
    yield from ((name,) for name in made if name not in have)
    facts, _ = evaluator.facts(flat(have.values()))
    evaluator.run(facts)
    waiting = Waiting(tuple(evaluator.rules.values()), facts, evaluator.rulebase.quantities)
    groups = {
        tuple(name for name in waiting.readings(rule) if name in made)
        for rule in waiting.rules if right & set(rule.evidence_for)
    }  # fmt: skip
    yield from (group for group in sorted(groups) if len(group) > 1)


def _standing(evaluator: Evaluator, have: Made, right: set[str]) -> tuple[bool, float]:
    """Whether a right cause leads, and by how much it is ahead of all others (below 0: behind)."""
    facts, _ = evaluator.facts(flat(have.values()))
    fired = evaluator.run(facts)
    influences = evaluator.influences(facts)
    findings = findings_of(fired, evaluator.rulebase, influences)
    first = nest(findings, influences)[:1]
    own = max((each.certainty for name, each in findings.items() if name in right), default=0.0)
    other = max(
        (each.certainty for name, each in findings.items() if name not in right), default=0.0
    )
    return bool(first) and first[0].cause.id in right, own - other


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the cases and the shares."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--per-fault", type=int, default=1, help="cases of each fault and seed")
    options = parser.parse_args(arguments)
    judge = PlantJudge(load_rulebase(shipped("rulebase")))
    needed: dict[str, list[int | None]] = {"with a complaint": [], "on a routine visit": []}
    for seed in SEEDS["development"]:
        for case in make_cases(seed, wishes(seed, options.per_fault, 0)):
            if case.visible and band_of(case.severities) != BANDS[0][0]:
                row = needed["with a complaint" if case.says else "on a routine visit"]
                row.append(readings_needed(judge, case))
                print(f"{case.name:38} {case.says or 'routine':24} {row[-1]}", flush=True)
    needed["middle and gross"] = [each for row in needed.values() for each in row]
    for name, row in needed.items():
        within = (sum(each is not None and each <= most for each in row) for most in (0, 3, 6))
        print(f"{name:24} {len(row):4}", *(f"{hits / max(len(row), 1):5.0%}" for hits in within))
    return 0


if __name__ == "__main__":
    sys.exit(main())
