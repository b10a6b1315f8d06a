"""Faults of the plant against what others published of them: the sign of each response, and sizes
where they were printed.

The checklists are of one machine on one coil without pressure control of the suction; a rack holds
its suction by its machines, so suction signs are looked at where every machine is on.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from budget import step

from expert.plant.design import Plants
from expert.plant.draw import draw
from expert.plant.faults import faults, put
from expert.plant.fluid import fluid
from expert.plant.solve import SolvedPlants, solve

# Trade press, J. Tomczyk, ACHR News: "Restricted condenser airflow" (achrnews.com/articles/91887),
# "Troubleshooting a refrigerant undercharge" (achrnews.com), restricted liquid line after the
# receiver (achrnews.com/articles/86873); all R-134a with receiver and expansion valve.
PUBLISHED = {
    "dirty-condenser": {
        "discharge_temperature": 1, "condensing": 1, "split": 1, "ratio": 1, "superheat": 0,
    },
    "undercharge": {
        "superheat": 1, "compressor_superheat": 1, "subcooling": -1, "condensing": -1,
        "power": -1, "suction": -1,
    },
    "liquid-line-restricted": {
        "superheat": 1, "condensing": -1, "split": -1, "power": -1, "suction": -1,
    },
}  # fmt: skip
COUNT = 24


def seen(state: SolvedPlants) -> dict[str, np.ndarray]:
    f, c, m = fluid(state.plants.refrigerant), state.circuits, state.machines
    here, real = state.plants.present > 0, state.plants.displacement > 0
    mean = lambda values, where: np.nanmean(np.where(where, values, np.nan), axis=1)  # noqa: E731
    bubble = f.bubble_t(state.liquid.receiver)
    return {
        "discharge_temperature": mean(m.discharge_temperature, real),
        "condensing": f.dew_t(state.discharge),
        "split": f.dew_t(state.discharge) - state.plants.outdoor,
        "ratio": mean(m.ratio, real),
        "superheat": mean(c.superheat, here),
        "compressor_superheat": mean(m.return_superheat, real),
        "subcooling": bubble - state.high.leaving,
        "power": mean(m.power, real),  # of a machine while it runs, as its current is read
        "suction": state.header[:, 0],
    }


@cache
def in_order() -> tuple[Plants, SolvedPlants]:
    """Plants of R-134a on a hot day, and how they run."""
    plants = draw(5, COUNT, "R-134a", low_temperature=False, weather="hot").plants
    return plants, solve(plants)


@cache
def response(fault: str, severity: float) -> dict[str, np.ndarray]:
    """Each value with the fault less that without it."""
    plants, before = in_order()
    moved = plants.copy()
    for row in range(COUNT):
        put(moved, before, faults()[fault], row, 0, severity)
    after = solve(moved)
    good = before.solved & after.solved
    assert good.mean() > 0.9
    one, other = seen(before), seen(after)
    return {name: (other[name] - one[name])[good] for name in one}


@pytest.mark.parametrize("fault", list(PUBLISHED)[:: step(4)])
def test_a_fault_answers_as_the_trade_press_has_it(fault: str) -> None:
    change = response(fault, 1.0)
    for what, sign in PUBLISHED[fault].items():
        middle = float(np.median(change[what]))
        if what == "suction":  # its machines hold it as long as they can
            assert middle <= 1.0, what
        elif sign:
            assert sign * middle > 0, f"{what} changes by {middle:.3g}"
        else:
            assert abs(middle) < 1.0, f"{what} changes by {middle:.3g}"


def test_condensing_rises_faster_the_more_of_the_face_is_blocked() -> None:
    """Gradual blocking raises pressure, discharge temperature and power ever faster.

    Source: Qureshi and Zubair 2014, International Journal of Refrigeration 38, 260 to 266.
    """
    steps = [response("dirty-condenser", severity) for severity in (0.0, 0.5, 1.0)]
    for what in ("condensing", "discharge_temperature", "power"):
        first, second, third = (float(np.median(step[what])) for step in steps)
        assert 0 < first < second < third
        assert third - second > second - first, what


def test_valves_that_leak_back_make_a_machine_hot_and_weak() -> None:
    """Suction temperature and discharge temperature up, condensing down where it cannot keep up.

    Source: signs of compressor valve leakage in Breuker and Braun 1998, HVAC&R Research 4(3),
    303 to 318 (generic rules for a rooftop unit), here at one machine of the rack.
    """
    plants = draw(6, COUNT, "R-404A", low_temperature=False, weather="hot").plants
    before = solve(plants)
    moved = plants.copy()
    for row in range(COUNT):
        put(moved, before, faults()["compressor-valve-leakage"], row, 0, 1.0)
    after = solve(moved)
    hotter = (
        after.machines.discharge_temperature[:, 0] - before.machines.discharge_temperature[:, 0]
    )
    assert np.median(hotter) > 5.0
    assert (after.machines.full_flow[:, 0] < 0.6 * before.machines.full_flow[:, 0]).all()
    busy = before.running[:, 0] > 0.85
    if busy.any():
        assert (after.header[busy, 0] >= before.header[busy, 0] - 1.0).all()
    assert (after.running[:, 0] >= before.running[:, 0] - 1e-6).all()


def test_air_in_the_condenser_shows_its_own_pressure_and_false_subcooling() -> None:
    """Partial pressures add; common practice: high head and apparent subcooling together."""
    change = response("non-condensables", 1.0)
    assert np.median(change["condensing"]) > 5.0
    assert np.median(change["subcooling"]) > 2.0
