"""Each cause on plants that have it: no state is seen to go the other way than the cause moves it.

What a cause acts on and what the influences make of it is held against the states that full
readings of a plant show. A state of its own that stays normal is no contradiction while the fault
is small; in a gross one it is. An ordinary run asks a few faults, the nightly one all.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from budget import NIGHTLY, step

from expert.knowledge.model import Rulebase
from expert.plant.cases import Case, every_fault, make_cases
from expert.plant.faults import faults
from plant.judge import PlantJudge, flat
from plant.score import SEEDS

GROSS = 0.85
ASKED = [*faults()][:: step(25)]
# (fault, state): why the plant of the model may show it otherwise, or not at all.
EXPLAINED = {
    ("no-liquid-to-circuit", "regulator_opening"):
        "nothing flows, and the model leaves its regulator where it stands",
    ("hot-gas-solenoid-leaking", "ratio"):
        "the rack holds its suction, and in hot weather the ratio is as high in order",
    ("idle-half-not-bled", "condenser_subcooling"):
        "in the cold the liquid of half a condenser is far subcooled, short of charge or not",
    ("level-gauge-wrong", "condenser_subcooling"):
        "the influences follow what the gauge shows; half a condenser in the cold subcools far",
    ("condenser-air-recirculating", "head"):
        "fans that stood take over in mild weather, above where the knowledge calls it warm, too",
    ("condenser-fan-failed", "head"):
        "fans that stood take over in mild weather, above where the knowledge calls it warm, too",
}  # fmt: skip
WORDS = {1: "high", 0: "normal", -1: "low"}


def against_own_plant(judge: PlantJudge, case: Case) -> Iterator[tuple[str, str]]:
    """(state, how it was seen) that speaks against a cause on a plant that has it."""
    made = judge.readings(case.readings, case.altitude)
    evaluator = judge.evaluator(case)
    facts, _ = evaluator.facts(flat(made.values()))
    evaluator.run(facts)
    influences = evaluator.influences(facts)
    cover = influences.cover(judge.rulebase.causes[case.faults[0]])
    for state in (*cover.against, *cover.doubtful) if cover is not None else ():
        yield state, WORDS[influences.seen[state]]


@pytest.mark.parametrize("seed", SEEDS["development"] if NIGHTLY else SEEDS["development"][:1])
def test_no_state_speaks_against_a_cause_on_its_own_plant(
    seed: int, shipped_rulebase: Rulebase
) -> None:
    judge = PlantJudge(shipped_rulebase)
    wrong, tried = [], set()
    for case in make_cases(seed, every_fault(1, seed, GROSS, 1.0, only=ASKED)):
        name = case.faults[0]
        if not case.visible or name not in shipped_rulebase.causes:
            continue
        tried.add(name)
        wrong += [
            f"{name}: {state} {word}"
            for state, word in against_own_plant(judge, case)
            if (name, state) not in EXPLAINED
        ]
    assert len(tried) >= 0.7 * len(ASKED)
    assert not wrong, "\n".join(wrong)
