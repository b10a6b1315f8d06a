"""A plant that is read, changed and read again."""

from __future__ import annotations

from copy import deepcopy
from functools import cache

import pytest

from expert.plant.faults import faults
from expert.plant.live import LivePlant, PlantWish
from expert.plant.stand import drawn_wish, stand

CONDENSER = PlantWish(3, ("dirty-condenser",), (0.8,), application="medium temperature")


@cache
def _found(wish: PlantWish) -> LivePlant | None:
    return stand(wish)


def standing(wish: PlantWish) -> LivePlant:
    plant = _found(wish)
    assert plant is not None
    return deepcopy(plant)


def test_the_same_wish_is_the_same_plant() -> None:
    one, other = standing(CONDENSER), stand(CONDENSER)
    assert other is not None
    assert one.told() == other.told()
    assert one.says == other.says == "head high"


def test_a_fault_that_is_put_right_leaves_nothing_odd() -> None:
    plant = standing(CONDENSER)
    assert plant.odd() and not plant.cured("dirty-condenser")
    before = plant.told()["discharge_header_pressure_at_rest"]
    assert plant.repair("dirty-condenser")
    assert plant.cured("dirty-condenser") and not plant.odd()
    after = plant.told()["discharge_header_pressure_at_rest"]
    assert isinstance(before, float) and isinstance(after, float) and after < before
    assert not plant.repair("dirty-condenser")  # nothing is left to be done


def test_what_was_in_order_can_be_made_worse() -> None:
    plant = standing(CONDENSER)
    level = plant.true("receiver level")
    plant.move("charge", "add", 0.2 * plant.value("charge"))
    assert plant.solved and plant.true("receiver level") > level + 0.1


def test_a_reading_stays_until_something_is_changed() -> None:
    plant = standing(CONDENSER)
    assert plant.told() == plant.told()
    plant.move("floor", "add", 0.0)
    assert plant.changes == 0


def test_a_defrost_is_read_as_it_runs_and_cured() -> None:
    plant = standing(PlantWish(2, ("suction-stop-leaking",), (0.8,)))
    assert plant.says == "defrost does not clear"
    moments = plant.moments()
    assert moments["discharge_header_pressure_at_rest"] == "rest"
    assert moments["circuit_pressure"] == "running" and moments["ice_left"] == "end"
    assert plant.sample("circuit_pressure", 30.0) < plant.sample("circuit_pressure", 300.0)
    long = plant.length()
    assert plant.repair("suction-stop-leaking")
    assert plant.cured("suction-stop-leaking") and plant.length() < long


@pytest.mark.parametrize("seed", range(20))
def test_faults_drawn_together_can_show_in_one_weather_on_one_plant(seed: int) -> None:
    wish = drawn_wish(seed, sorted(faults()), (0.4, 0.9), "", 2)
    told = [faults()[name] for name in wish.faults]
    if len(told) == 2:
        assert set(told[0].weather) & set(told[1].weather)
        assert all(fault.at != "defrost" for fault in told)
    assert all(0.4 <= size <= 0.9 for size in wish.severities)
