"""Every formula of liquid, defrost, tightness, air and leak rate: form, and no bad surprise."""

from __future__ import annotations

import inspect
import math
from typing import Any

import pytest
from budget import examples
from check_values import kelvin
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.physics.frame.uncertainty import propagate
from expert.physics.frost import hot_gas as defrost
from expert.physics.frost import moisture_load as air_moisture
from expert.physics.leak_law import rate as leak_rate
from expert.physics.liquid import liquid_line as liquid
from expert.physics.tightness import standing_test as tightness
from expert.units.kinds import PSI, Kind, unit_for

FORMULAS: list[Formula] = [
    one
    for module in (liquid, defrost, tightness, air_moisture, leak_rate)
    for one in module.FORMULAS
]
BY_NAME = {one.name: one for one in FORMULAS}
ODD = st.sampled_from([0.0, -1.0, 1e-300, 1e12, -1e12])
BY_KIND = {
    Kind.TEMPERATURE: st.floats(150, 500),
    Kind.TEMPERATURE_DIFFERENCE: st.floats(-50, 50),
    Kind.GAUGE_PRESSURE: st.floats(-1e5, 5e6),
    Kind.ABSOLUTE_PRESSURE: st.floats(0, 2e5),
    Kind.PRESSURE_DIFFERENCE: st.floats(-1e5, 1e6),
    Kind.DURATION: st.floats(0, 1e7),
    Kind.SHARE: st.floats(-0.1, 1.2),
    Kind.RATIO: st.floats(0, 10),
    Kind.LENGTH: st.floats(-1, 10),
    Kind.VOLUME: st.floats(0, 10),
    Kind.VOLUME_FLOW: st.floats(0, 2),
    Kind.MASS: st.floats(0, 1e4),
    Kind.MASS_FLOW: st.floats(0, 1),
    Kind.POWER: st.floats(0, 1e4),
    Kind.ENERGY: st.floats(0, 1e9),
}
TYPICAL = {
    Kind.TEMPERATURE_DIFFERENCE: 8.0,
    Kind.PRESSURE_DIFFERENCE: 3 * PSI,
    Kind.DURATION: 2e6,
    Kind.SHARE: 0.5,
    Kind.RATIO: 2.0,
    Kind.LENGTH: 1.0,
    Kind.VOLUME: 0.5,
    Kind.VOLUME_FLOW: 0.02,
    Kind.MASS: 5.0,
    Kind.MASS_FLOW: 0.05,
    Kind.POWER: 100.0,
    Kind.ENERGY: 5e6,
}
# Inputs of a formula that only make sense together.
SPECIAL = {
    "start": 40.0,
    "middle": 80.0,
    "end": 100.0,
    "vacuum": 100.0,
    "start_temperature": kelvin(20),
    "end_temperature": kelvin(50),
    "gas_temperature": kelvin(150),
    "wet_bulb": kelvin(60),
    "dew_point": kelvin(50),
    "air_temperature": kelvin(75),
    "coil_temperature": kelvin(20),
    "surface_temperature": kelvin(70),
    "rated_temperature": kelvin(75),
    "outdoor_temperature": kelvin(10),
    "condensing_temperature": kelvin(90),
    "liquid_temperature": kelvin(84),
    "pipe_temperature": kelvin(60),
    "temperature": kelvin(60),
    "pressure": 205 * PSI,
    "start_pressure": 300 * PSI,
    "end_pressure": 310 * PSI,
}


def typical(one: Formula) -> dict[str, Any]:
    return {
        name: one.choices[name][0] if kind is Kind.CHOICE else SPECIAL.get(name, TYPICAL.get(kind))
        for name, kind in one.inputs.items()
    }


@pytest.mark.parametrize("one", FORMULAS, ids=lambda one: one.name)
def test_a_formula_takes_the_inputs_it_names(one: Formula) -> None:
    taken = list(inspect.signature(one.compute).parameters)
    assert taken[0] == "context"
    assert set(taken[1:]) == set(one.inputs)


@pytest.mark.parametrize("one", FORMULAS, ids=lambda one: one.name)
def test_a_formula_has_units_words_and_a_source(one: Formula) -> None:
    assert unit_for(one.output)
    assert one.title and one.text and one.source
    assert set(one.choices) == {n for n, kind in one.inputs.items() if kind is Kind.CHOICE}


@pytest.mark.parametrize("one", FORMULAS, ids=lambda one: one.name)
def test_a_formula_gives_a_value_with_its_uncertainty(one: Formula) -> None:
    values = typical(one)
    errors = {name: 1e-3 * abs(v) for name, v in values.items() if isinstance(v, float)}
    value, plus_minus = propagate(one, Context("R-449A"), values, errors)
    assert math.isfinite(value)
    assert math.isfinite(plus_minus)
    assert plus_minus >= 0


def test_no_two_formulas_share_a_name() -> None:
    assert len(BY_NAME) == len(FORMULAS)


@pytest.mark.parametrize("one", FORMULAS, ids=lambda one: one.name)
@settings(max_examples=examples(40), deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_formula_answers_with_a_number_or_refuses_in_words(
    one: Formula, data: st.DataObject
) -> None:
    refrigerant = data.draw(st.sampled_from(["R-404A", "R-449A", "R-744", "R-22", None]))
    values = {
        name: data.draw(
            st.sampled_from(one.choices[name]) if kind is Kind.CHOICE else BY_KIND[kind] | ODD,
            label=name,
        )
        for name, kind in one.inputs.items()
    }
    try:
        found = one.compute(Context(refrigerant, 95_000.0), **values)
    except PhysicsError as error:
        assert str(error)
    else:
        assert math.isfinite(found)


@pytest.mark.parametrize(
    "one", [one for one in FORMULAS if one.needs_refrigerant], ids=lambda one: one.name
)
def test_a_formula_that_needs_a_refrigerant_says_so(one: Formula) -> None:
    with pytest.raises(PhysicsError, match="refrigerant is not known"):
        one.compute(Context(), **typical(one))
