"""The defrost of the plant: energy, the order of things, and what its faults do."""

from __future__ import annotations

import numpy as np
import pytest
from budget import step

from expert.plant.design import PSI
from expert.plant.draw import draw
from expert.plant.faults import faults, put
from expert.plant.hot_gas_defrost import (
    ICE_POINT,
    MELTING_HEAT,
    MINUTE,
    STEP,
    DefrostCourse,
    Defrosts,
    draw_defrosts,
    run_defrosts,
)
from expert.plant.solve import SolvedPlants, solve

COUNT = 24


@pytest.fixture(scope="module")
def state() -> SolvedPlants:
    return solve(draw(9, COUNT, "R-448A", low_temperature=True, weather="mild").plants)


@pytest.fixture(scope="module")
def paper(state: SolvedPlants) -> Defrosts:
    return draw_defrosts(state, np.zeros(COUNT, dtype=int), 4)


@pytest.fixture(scope="module")
def usual(paper: Defrosts) -> DefrostCourse:
    return run_defrosts(paper)


def with_fault(
    state: SolvedPlants, paper: Defrosts, name: str, severity: float = 1.0
) -> DefrostCourse:
    found = paper.copy()
    for row in range(COUNT):
        put(found, state, faults()[name], row, 0, severity)
    return run_defrosts(found)


def test_a_defrost_in_order_ends_on_its_sensor_with_a_clear_coil(usual: DefrostCourse) -> None:
    assert usual.by_sensor.mean() > 0.9
    assert (np.nan_to_num(usual.clear_at, nan=1e9) <= usual.length + STEP).mean() > 0.9
    assert (usual.length > 4 * MINUTE).all()
    assert np.median(usual.length) < 20 * MINUTE


def test_the_gas_brings_at_least_the_heat_that_the_ice_takes(
    paper: Defrosts, usual: DefrostCourse
) -> None:
    """Latent heat of the frost melted against what gas of that flow could give (first law)."""
    melted = (paper.frost - usual.left.sum(axis=1)) * MELTING_HEAT
    # the largest flow the branch can pass, all of it condensed, all of the time
    drop = np.maximum(usual.hot_gas_header[None, :] - usual.coil_pressure, 0.0)
    rho = 60.0
    gas = paper.gas_area[None, :] * np.sqrt(2 * rho * drop)
    on = np.arange(len(usual.times))[:, None] * STEP <= usual.length[None, :]
    given = (gas * on).sum(axis=0) * STEP * 2.2e5
    assert (given > melted).all()
    assert (melted > 0.1 * given).all()


def test_frost_only_goes_and_nothing_melts_before_the_ice_point(usual: DefrostCourse) -> None:
    assert (np.diff(usual.frost, axis=0) <= 1e-12).all()
    assert (usual.last_tube[usual.by_sensor > 0] > ICE_POINT).all()


def test_the_regulator_makes_its_difference(paper: Defrosts, usual: DefrostCourse) -> None:
    made = usual.hot_gas_header - usual.liquid_header
    assert (made > paper.differential - 3 * PSI).all()


@pytest.mark.parametrize(
    "fault",
    [
        "defrost-differential-set-low", "differential-regulator-not-acting",
        "hot-gas-solenoid-not-opening", "bypass-check-stuck-shut", "fans-running-in-defrost",
        "liquid-solenoid-not-closing", "suction-stop-open-in-defrost",
        "too-many-circuits-in-defrost",
    ][:: step(3)],
)  # fmt: skip
def test_what_keeps_heat_from_the_coil_makes_it_slow(
    fault: str, state: SolvedPlants, paper: Defrosts, usual: DefrostCourse
) -> None:
    """Common practice: each of these lengthens the time until the coil is clear."""
    slow = with_fault(state, paper, fault)
    before = np.nan_to_num(usual.clear_at, nan=3600.0)
    after = np.nan_to_num(slow.clear_at, nan=3600.0)
    assert (after >= before - STEP).all()
    assert np.median(after) > np.median(before) + MINUTE


def test_a_low_differential_is_slower_the_lower_it_is(state: SolvedPlants, paper: Defrosts) -> None:
    times = [
        float(np.median(np.nan_to_num(
            with_fault(state, paper, "defrost-differential-set-low", each).clear_at, nan=3600.0
        )))
        for each in (0.0, 0.5, 1.0)
    ]  # fmt: skip
    assert times[0] <= times[1] <= times[2]
    assert times[2] > times[0]


def test_a_sensor_on_an_early_tube_leaves_ice_at_the_far_end(
    state: SolvedPlants, paper: Defrosts
) -> None:
    early = with_fault(state, paper, "termination-sensor-on-early-tube")
    left = early.left
    assert (early.by_sensor > 0).mean() > 0.9
    assert np.median(left[:, -1] / left.sum(axis=1).clip(1e-9)) > 0.3
    assert np.median(left.sum(axis=1) / paper.frost) > 0.05


def test_a_sensor_that_does_not_see_the_coil_runs_to_the_clock(
    state: SolvedPlants, paper: Defrosts
) -> None:
    blind = with_fault(state, paper, "termination-sensor-not-seeing-coil")
    assert (blind.by_sensor < 1).mean() > 0.8
    by_clock = blind.by_sensor < 1
    late = blind.length[by_clock] - paper.fail_safe[by_clock]
    assert np.abs(late).max() <= 2 * STEP


def test_a_leaking_stop_warms_the_line_behind_it(
    state: SolvedPlants, paper: Defrosts, usual: DefrostCourse
) -> None:
    leaks = with_fault(state, paper, "suction-stop-leaking")
    rise = leaks.stop_line.max(axis=0) - leaks.stop_line[0]
    quiet = usual.stop_line.max(axis=0) - usual.stop_line[0]
    assert np.median(rise) > np.median(quiet) + 5.0
    assert (leaks.suction > usual.suction).all()
