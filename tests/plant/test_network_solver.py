"""Plants in order against a general network solver for thermal cycles (TESPy), where installed.

The solver gets the boundary states of a solved plant (pressures, return gas, liquid, flow,
isentropic efficiency) and builds the whole cycle on its own properties; heat taken in, power and
heat given off must then agree. R-134a, since it is one fluid to both.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from expert.plant.design import Plants
from expert.plant.draw import draw
from expert.plant.fluid import fluid
from expert.plant.machines import BEST_RATIO, BODY_LOSS, FALL
from expert.plant.solve import SolvedPlants, solve

REASON = "the network solver is not installed: pip install tespy"


@pytest.fixture(scope="module")
def states() -> SolvedPlants:
    plants = draw(21, 12, "R-134a", low_temperature=False, weather="hot").plants
    single = np.flatnonzero((plants.group_of_circuit * plants.present).max(axis=1) == 0)[:3]
    chosen: Plants = plants.take(single)
    return solve(chosen)


def solved_cycle(
    flow: float, low: float, gas: float, high: float, liquid: float, efficiency: float
) -> tuple[float, float, float]:
    """Heat taken in, power, heat given off [W] of a cycle between these states (Pa, K)."""
    pytest.importorskip("tespy", reason=REASON)
    from tespy.components import Compressor, CycleCloser, SimpleHeatExchanger, Valve
    from tespy.connections import Connection
    from tespy.networks import Network

    net = Network(iterinfo=False)
    net.units.set_defaults(temperature="K", pressure="Pa", enthalpy="J/kg", mass_flow="kg/s")
    closer, valve = CycleCloser("closer"), Valve("valve")
    cold, hot, machine = (
        SimpleHeatExchanger("cold"), SimpleHeatExchanger("hot"), Compressor("machine")
    )  # fmt: skip
    path = (closer, valve, cold, machine, hot, closer)
    lines = [
        Connection(one, "out1", other, "in1", label=f"{number}")
        for number, (one, other) in enumerate(zip(path, path[1:], strict=False))
    ]
    net.add_conns(*lines)
    before, _, back, _, warm = lines
    before.set_attr(fluid={"R134a": 1.0}, m=flow)
    back.set_attr(p=low, T=gas)
    warm.set_attr(p=high, T=liquid)
    cold.set_attr(pr=1)
    hot.set_attr(pr=1)
    machine.set_attr(eta_s=efficiency)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        net.solve("design")
    return float(cold.Q.val_SI), float(machine.P.val_SI), -float(hot.Q.val_SI)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("row", [0, 1, 2])
def test_a_plant_in_order_agrees_with_the_network_solver(states: SolvedPlants, row: int) -> None:
    pytest.importorskip("tespy", reason=REASON)
    assert states.solved[row]
    p, f, m = states.plants, fluid("R-134a"), states.machines
    flow = float(states.circuits.flow[row].sum())
    k = 0
    efficiency = float(
        p.best_isentropic[row, k] * (1 - FALL * np.log(m.ratio[row, k] / BEST_RATIO) ** 2)
    )
    taken, power, given = solved_cycle(
        flow, float(m.suction[row, k]), float(m.return_temperature[row, k]),
        float(states.discharge[row]), float(states.high.leaving[row]), efficiency,
    )  # fmt: skip
    specific = float(m.power[row, k] / m.full_flow[row, k])
    assert power == pytest.approx(flow * specific, rel=0.015)
    arriving = f.gas_h(m.suction, m.return_superheat)[row, k]
    liquid = f.liquid_h(states.high.leaving)[row]
    assert taken == pytest.approx(flow * float(arriving - liquid), rel=0.01)
    # the plant's machines give a tenth of their power to the room before the condenser
    kept = given - BODY_LOSS * power
    assert float(states.heat[row]) == pytest.approx(kept, rel=0.03)
