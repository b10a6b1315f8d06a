"""Gas that melts ice, its flow and time, and the energy of the three methods."""

from __future__ import annotations

import math

import pytest
from check_values import kelvin
from hypothesis import given, settings
from hypothesis import strategies as st

from expert.physics.fluids.coolprop_door import library, state
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.catalog import formula
from expert.physics.frame.formula import Context
from expert.physics.frame.physics_errors import OutOfRange
from expert.physics.frost.defrost_energy import electric, hot_gas, off_cycle
from expert.physics.frost.hot_gas import defrost_time, gas_effect, gas_flow
from expert.units.kinds import PSI

MELTING = 273.15


def margins(refrigerant: str, pressure: float) -> tuple[float, float]:
    """By how much gas condenses above the melting point [K], the first and the last of it."""
    begun, ended = (
        formula(name).compute(Context(refrigerant, 0.0), pressure=pressure)
        for name in ("defrost_melting_margin", "defrost_melting_margin_at_end")
    )
    return begun, ended


def test_gas_below_the_melting_point_cannot_melt_ice() -> None:
    fluid = saturation("R-404A")
    assert margins("R-404A", fluid.dew_pressure(kelvin(30)))[0] < 0
    assert margins("R-404A", fluid.dew_pressure(kelvin(34)))[0] > 0


def test_gas_that_condenses_just_at_the_melting_point_melts_nothing() -> None:
    assert margins("R-22", saturation("R-22").dew_pressure(MELTING) * (1 - 1e-6))[0] < 0


def test_a_blend_with_glide_may_stop_melting_before_all_has_condensed() -> None:
    begun, ended = margins("R-455A", saturation("R-455A").dew_pressure(kelvin(36)))
    assert begun > 0 > ended


def test_the_margin_over_melting_is_on_the_dew_basis() -> None:
    pressure = saturation("R-449A").dew_pressure(kelvin(50))
    found = formula("defrost_melting_margin").compute(Context("R-449A", 0.0), pressure=pressure)
    assert found * 1.8 == pytest.approx(18, abs=1e-6)
    last = formula("defrost_melting_margin_at_end").compute(
        Context("R-449A", 0.0), pressure=pressure
    )
    assert last < found


def test_gas_gives_up_superheat_and_latent_heat() -> None:
    coolprop = library()
    fluid = saturation("R-22")
    pressure = fluid.dew_pressure(kelvin(50))
    one = state("R-22")
    one.update(coolprop.PT_INPUTS, pressure, kelvin(140))
    gas = one.hmass()
    one.update(coolprop.PQ_INPUTS, pressure, 0)
    assert gas_effect("R-22", pressure, kelvin(140)) == pytest.approx(gas - one.hmass(), rel=1e-5)


def test_gas_that_is_already_wet_is_refused() -> None:
    pressure = saturation("R-22").dew_pressure(kelvin(50))
    with pytest.raises(OutOfRange, match="not all gas"):
        gas_effect("R-22", pressure, kelvin(45))


@given(st.floats(1e5, 1e8), st.floats(60, 3600), st.floats(1e5, 3e5), st.floats(0.1, 1.0))
def test_flow_and_time_undo_each_other(
    heat: float, time: float, effect: float, share: float
) -> None:
    flow = gas_flow(heat, time, effect, share)
    assert defrost_time(heat, flow, effect, share) == pytest.approx(time, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(["R-404A", "R-448A", "R-407A"]), st.floats(80, 180))
def test_hotter_gas_needs_less_time(refrigerant: str, temperature: float) -> None:
    one = formula("defrost_time_from_heat")
    context = Context(refrigerant)
    given_ = {"heat": 8e6, "flow": 0.05, "pressure": 100 * PSI, "useful_share": 0.5}
    cooler = one.compute(context, gas_temperature=kelvin(temperature), **given_)
    hotter = one.compute(context, gas_temperature=kelvin(temperature + 10), **given_)
    assert 0 < hotter < cooler


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1, math.nan])
def test_a_useful_share_that_cannot_be_is_refused(share: float) -> None:
    with pytest.raises(OutOfRange):
        gas_flow(1e6, 600, 2e5, share)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_no_time_and_no_flow_are_refused(value: float) -> None:
    with pytest.raises(OutOfRange):
        gas_flow(1e6, value, 2e5, 0.5)
    with pytest.raises(OutOfRange):
        defrost_time(1e6, value, 2e5, 0.5)


def test_electric_defrost_pays_for_its_heat_twice() -> None:
    # 4 MJ of frost and 1 MJ of coil at a half: 10 MJ of heaters, 6 MJ to pull out at 2: 13 MJ.
    found = electric(4e6, 1e6, 0.5, 2.0)
    assert found.during == pytest.approx(10e6)
    assert found.pull_down == pytest.approx(3e6)
    assert found.total == pytest.approx(13e6)


def test_hot_gas_defrost_pays_for_the_compressor_work_in_the_gas() -> None:
    # The same heat carries 10 / (1 + 2) MJ of work.
    found = hot_gas(4e6, 1e6, 0.5, 2.0)
    assert found.during == pytest.approx(10e6 / 3)
    assert found.pull_down == pytest.approx(3e6)


def test_off_cycle_defrost_pays_for_the_fans_only() -> None:
    found = off_cycle(120.0, 1800.0)
    assert found.total == pytest.approx(216_000)
    assert found.pull_down == 0.0


@given(st.floats(0, 1e7), st.floats(0, 1e7), st.floats(0.05, 1), st.floats(0.5, 6))
def test_hot_gas_never_costs_more_than_electric_at_the_same_share(
    frost: float, coil: float, share: float, performance: float
) -> None:
    gas = hot_gas(frost, coil, share, performance)
    assert 0 <= gas.total <= electric(frost, coil, share, performance).total


@pytest.mark.parametrize("performance", [0.0, -2.0, math.nan])
def test_a_performance_that_cannot_be_is_refused(performance: float) -> None:
    with pytest.raises(OutOfRange):
        electric(1e6, 1e6, 0.5, performance)
