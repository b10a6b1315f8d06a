"""A small sample of what `score.py` prints: floors, far below what is reported, and no danger.

RACKWALK_TEST_PROFILE=nightly takes a larger one.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from shipped_knowledge import shipped_checklists

from expert.knowledge.model import Rulebase
from expert.plant.cases import Case, Wanted, every_fault, make_cases, two_faults
from expert.plant.faults import faults
from plant.judge import FIRST_TEN, PlantJudge
from plant.score import SEEDS, Score, Tally, lines, score

NIGHTLY = os.environ.get("RACKWALK_TEST_PROFILE") == "nightly"
SEED = 4711  # of this sample only: neither a development seed nor one that is reported


def sample() -> Iterator[Case]:
    names = list(faults())
    only = names if NIGHTLY else names[:: max(len(names) // 8, 1)]
    wanted = every_fault(3 if NIGHTLY else 1, SEED, low=0.34, only=only)
    wanted += [Wanted((), ())] * (100 if NIGHTLY else 2) + two_faults(40 if NIGHTLY else 1, SEED)
    return make_cases(SEED, wanted)


@pytest.fixture(scope="module")
def told(shipped_rulebase: Rulebase) -> Score:
    return score(PlantJudge(shipped_rulebase), sample(), guided=False)


def test_no_advice_for_any_plant_is_dangerous(told: Score) -> None:
    assert told.dangers == []


def test_the_right_cause_is_mostly_found(told: Score) -> None:
    """Floors of a sample so small that chance moves it by a fifth."""
    assert told.whole.judged >= 8
    assert told.whole.found >= 0.6 * told.whole.judged
    assert told.whole.first >= 0.45 * told.whole.judged


def test_the_table_has_a_line_for_every_fault_and_band(told: Score) -> None:
    table = "\n".join(lines(told))
    for name in told.by_fault:
        assert name in table
    assert "dangerous advice: 0" in table
    assert "plants in order" in table


def test_a_guided_search_counts_what_it_asks(shipped_rulebase: Rulebase) -> None:
    judge = PlantJudge(shipped_rulebase)
    (case,) = make_cases(SEED, every_fault(1, SEED, low=0.9, only=["coil-iced-over"]))
    verdict = judge.judge(case)
    assert verdict.first
    assert verdict.extra is not None  # frost on the coil is among what is read first
    assert verdict.extra <= 3


def test_what_is_read_first_is_ten_readings_of_the_rulebase(shipped_rulebase: Rulebase) -> None:
    for names in FIRST_TEN.values():
        assert len(set(names)) == 10
        assert set(names) <= set(shipped_rulebase.quantities)


def test_a_routine_visit_begins_as_the_preventive_walk(shipped_rulebase: Rulebase) -> None:
    walk = [
        step.quantities[0]
        for phase in shipped_checklists()["preventive-maintenance-walk"].phases
        for step in phase.steps
        if step.type in ("ask", "observe")
    ]
    begins = walk.index("suction_header_pressure_at_rest")
    assert FIRST_TEN["rack"] == ("outdoor_temperature", *walk[begins : begins + 9])
    begins = walk.index("circuit_mode")
    looks = [
        name for name in walk[begins : begins + 12] if name not in ("door_gasket", "door_glass")
    ]
    assert FIRST_TEN["case"] == tuple(looks)


def test_development_and_reported_seeds_are_apart() -> None:
    assert not set(SEEDS["development"]) & set(SEEDS["reported"])
    assert SEED not in {*SEEDS["development"], *SEEDS["reported"]}


def test_a_hidden_fault_is_counted_apart(shipped_rulebase: Rulebase) -> None:
    judge = PlantJudge(shipped_rulebase)
    (case,) = make_cases(SEED, every_fault(1, SEED, low=0.9, only=["non-condensables"]))
    verdict = judge.judge(case, guided=False)
    verdict.case.visible = False
    tally = Tally()
    tally.add(verdict)
    assert (tally.hidden, tally.judged) == (1, 0)
