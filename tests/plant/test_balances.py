"""What goes in comes out: energy, mass, charge; and the gas fits against the property library."""

from __future__ import annotations

import numpy as np
import pytest
from budget import step

from expert.physics.fluids.single_phase import gas, gas_of_entropy, liquid
from expert.plant.draw import draw
from expert.plant.fluid import fluid
from expert.plant.machines import BODY_LOSS
from expert.plant.solve import SolvedPlants, solve

WEATHERS = ("hot", "mild", "cold")


@pytest.fixture(scope="module", params=[(True, "R-448A"), (False, "R-134a")][:: step(2)])
def states(request: pytest.FixtureRequest) -> list[SolvedPlants]:
    low, name = request.param
    return [
        solve(draw(71, 25, name, low_temperature=low, weather=weather).plants)
        for weather in WEATHERS
    ]


def test_every_drawn_plant_in_order_is_solved(states: list[SolvedPlants]) -> None:
    for state in states:
        assert state.solved.all()


def test_the_heat_of_the_cases_and_the_power_leave_through_the_condenser(
    states: list[SolvedPlants],
) -> None:
    """First law over the refrigerant from liquid line to liquid line, with the lines' own gains."""
    for state in states:
        p, f, c = state.plants, fluid(state.plants.refrigerant), state.circuits
        flow = c.flow.sum(axis=1)
        taken = (c.flow * (c.outlet_h - state.liquid.valves.enthalpy)).sum(axis=1)
        arrives = (c.flow * state.liquid.valves.enthalpy).sum(axis=1)
        groups = p.group_of_compressor.astype(int)
        share = np.take_along_axis(state.running, groups, 1)
        power = (share * state.machines.power).sum(axis=1)
        returned = (c.flow * c.outlet_h).sum(axis=1)
        pipe = flow * state.machines.discharge_h - returned - (1 - BODY_LOSS) * power
        condenser = flow * (state.machines.discharge_h - f.liquid_h(state.high.leaving))
        lines = arrives - flow * f.liquid_h(state.high.leaving)
        assert np.allclose(condenser, state.heat, rtol=0.01)
        assert np.allclose(taken + power * (1 - BODY_LOSS) + pipe + lines, state.heat, rtol=0.01)
        assert (pipe > 0).all()  # suction lines only gain
        assert (pipe < 0.35 * taken).all()


def test_the_air_of_the_condenser_takes_that_heat(states: list[SolvedPlants]) -> None:
    for state in states:
        p, high = state.plants, state.high
        air = p.condenser_air * high.fan_share * high.part
        rise = high.air_out - high.air_in
        assert np.allclose(air * rise, state.heat, rtol=0.03)


def test_the_air_of_each_case_gives_what_the_coil_takes(states: list[SolvedPlants]) -> None:
    for state in states:
        p, c = state.plants, state.circuits
        here = p.present > 0
        store = p.store[:, None]
        mean = (c.return_air + c.discharge_air) / 2
        load = p.case_ua * (store - mean) + p.internal
        load = load + p.infiltration * p.case_air * (store - c.return_air)
        given = p.case_air * (c.return_air - c.discharge_air)
        assert np.allclose(load[here], given[here], rtol=0.01)
        on = c.running * (c.heat - c.latent)
        assert np.allclose(on[here], given[here], rtol=0.02)


def test_the_charge_is_all_there(states: list[SolvedPlants]) -> None:
    for state in states:
        charge = state.charge
        parts = charge.lines + charge.coils + charge.condenser + charge.receiver
        assert np.allclose(parts, state.plants.charge, rtol=1e-9)
        assert (charge.level > 0).all()
        assert (charge.level < 1).all()


def test_the_machines_pump_what_the_coils_evaporate(states: list[SolvedPlants]) -> None:
    for state in states:
        pumped = (state.running * state.machines.group_full).sum(axis=1)
        assert np.allclose(pumped, state.circuits.flow.sum(axis=1), rtol=0.01)


@pytest.mark.parametrize("name", ["R-449A", "R-448A", "R-404A", "R-134a", "R-407A"])
def test_the_gas_fits_agree_with_the_property_library(name: str) -> None:
    """A compression from -20 F (20 F for R-134a) to 100 F, 30 F above dew: work within 1 %."""
    f = fluid(name)
    cold = np.array([266.48 if name == "R-134a" else 244.26])
    suction, end = f.dew_p(cold), f.dew_p(np.array([310.93]))
    more = np.array([16.7])
    true = gas(name, float(suction[0]), float(cold[0]) + 16.7)
    hot = gas_of_entropy(name, float(end[0]), true.entropy)
    work = f.gas_h(end, f.superheat_of_s(end, f.gas_s(suction, more))) - f.gas_h(suction, more)
    assert float(work[0]) == pytest.approx(hot.enthalpy - true.enthalpy, rel=0.01)
    assert float(f.gas_rho(suction, more)[0]) == pytest.approx(true.density, rel=0.005)
    reached = 310.93 + float(f.superheat_of_s(end, f.gas_s(suction, more))[0])
    assert reached == pytest.approx(hot.temperature, abs=0.6)
    cool = liquid(name, float(f.bubble_p(np.array([300.0]))[0]), 300.0)
    effect = float(f.gas_h(suction, more)[0] - f.liquid_h(np.array([300.0]))[0])
    assert effect == pytest.approx(true.enthalpy - cool.enthalpy, rel=0.005)
