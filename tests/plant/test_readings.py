"""What the plant says is said in the names and words of the rulebase, and could be typed."""

from __future__ import annotations

import numpy as np
import pytest
from budget import at_night, step

from expert.knowledge.model import Rulebase
from expert.plant.cases import Case, Wanted, every_fault, make_cases
from expert.plant.design import PSI
from expert.plant.faults import faults
from expert.plant.visit_instruments import TOOLS, Visit
from plant.judge import ACCEPTED, PlantJudge, accepted_for, wilson

SEED = 3
FAULTS = [*faults()][:: step(22)]  # each costs what a hundred other tests cost


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    wanted = [*every_fault(1, SEED, only=FAULTS), Wanted((), ()), Wanted((), (), defrost=True)]
    return list(make_cases(SEED, wanted))


def test_nearly_every_wish_becomes_a_solved_plant(cases: list[Case]) -> None:
    assert len(cases) >= 0.95 * (len(FAULTS) + 2)
    assert len(faults()) >= 60


def test_the_same_seed_gives_the_same_readings() -> None:
    wanted = every_fault(1, SEED, only=["coil-dirty"])
    one, other = (list(make_cases(SEED, wanted)) for _ in range(2))
    assert [case.readings for case in one] == [case.readings for case in other]


def test_every_name_is_a_quantity_and_every_word_its_choice(
    cases: list[Case], shipped_rulebase: Rulebase
) -> None:
    for case in cases:
        for name, value in case.readings.items():
            quantity = shipped_rulebase.quantities[name]
            assert quantity.derivation is None, name
            if isinstance(value, str):
                assert value in quantity.choices, f"{name}: {value}"
            else:
                assert not quantity.is_choice, name


def test_a_reading_can_be_typed(cases: list[Case], shipped_rulebase: Rulebase) -> None:
    judge = PlantJudge(shipped_rulebase)
    refused = {
        name
        for case in cases
        for name in set(case.readings) - set(judge.readings(case.readings, case.altitude))
    }
    assert refused == set()


def test_every_fault_has_a_cause_that_counts_as_right(shipped_rulebase: Rulebase) -> None:
    for name in faults():
        right = accepted_for([name])
        assert right, name
        assert right <= set(shipped_rulebase.causes), f"{name}: {ACCEPTED.name}"


def test_a_fault_moves_parameters_and_never_a_reading(cases: list[Case]) -> None:
    """The same visit to the same plant in order reads the same where the fault has no reach."""
    for case in cases:
        assert set(case.faults) <= set(faults())
        same = sum(case.usual.get(name) == value for name, value in case.readings.items())
        assert same > 0.2 * len(case.readings), case.name


def test_a_plant_in_order_shows_nothing(cases: list[Case]) -> None:
    for case in cases:
        if not case.faults:
            assert not case.visible
            assert case.readings == case.usual


@at_night
def test_gross_faults_are_visible() -> None:
    gross = list(make_cases(8, every_fault(1, 8, low=0.9, only=[*faults()][1:])))
    hidden = {case.name for case in gross if not case.visible}
    assert len(hidden) <= 3, hidden


def test_a_bias_stays_for_the_visit_and_differs_between_visits() -> None:
    visits = [Visit(np.random.default_rng(seed)) for seed in range(200)]
    means = [np.mean([visit.take("clamp", 270.0) for _ in range(60)]) for visit in visits]
    assert np.std(means) == pytest.approx(TOOLS["clamp"].bias, rel=0.25)
    within = np.std([visits[0].take("clamp", 270.0) for _ in range(400)])
    assert within == pytest.approx(TOOLS["clamp"].repeat, rel=0.25)


def test_wilson_holds_against_printed_values() -> None:
    """Computed by hand for 8 of 10 and 0 of 20 at 95 %."""
    assert wilson(8, 10) == pytest.approx((0.4902, 0.9433), abs=2e-4)
    assert wilson(0, 20) == pytest.approx((0.0, 0.1611), abs=2e-4)


def test_what_no_fault_of_the_model_touches_is_answered_where_it_is_true() -> None:
    wanted = [
        Wanted((), ()),
        Wanted(("oil-separator-float-stuck-open",), (0.9,)),
        Wanted(("motor-protector-open-hot",), (1.0,)),
    ]
    told = {case.name: case.readings for case in make_cases(SEED, wanted)}
    healthy = told["healthy"]
    assert healthy["rack_controller"] == "working" and healthy["rack_trips"] == "none"
    assert healthy["oil_reservoir_level"] == 0.5 and healthy["oil_foam"] == "none"
    above = healthy["oil_reservoir_pressure"] - healthy["suction_header_pressure_at_rest"]
    assert above == pytest.approx(17 * PSI, abs=2 * PSI)
    open_float = told["oil-separator-float-stuck-open"]
    assert not {"oil_foam", "oil_reservoir_pressure"} & set(open_float)
    assert told["motor-protector-open-hot"]["rack_trips"] == "motor protector"
