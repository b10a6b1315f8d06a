"""The catalogue: every formula complete, and all that derived values call is there."""

from __future__ import annotations

import inspect

import pytest

from expert.physics.catalog import CATALOG, formula, warning
from expert.physics.errors import PhysicsError
from expert.physics.formula import Formula
from expert.units.kinds import Kind

CALLED = {
    "superheat", "subcooling", "dew_temperature", "bubble_temperature", "mid_temperature",
    "dew_pressure", "bubble_pressure", "pressure_difference", "temperature_difference",
    "suction_set_point_shortcut", "suction_set_point_design", "coil_temperature_difference",
    "line_drop_temperature", "regulator_holding_pressure_dew", "regulator_holding_pressure_mid",
    "condenser_temperature_difference", "compression_ratio", "time_difference",
    "gas_condensing_temperature", "expansion_valve_pressure_drop",
}
every = pytest.mark.parametrize("one", CATALOG.values(), ids=lambda f: f.name)


@pytest.mark.parametrize("name", sorted(CALLED))
def test_the_catalogue_has_what_derived_values_call(name: str) -> None:
    assert formula(name).name == name


@every
def test_a_formula_explains_itself(one: Formula) -> None:
    assert one.title
    assert one.text
    assert one.source
    assert one.inputs


@every
def test_a_formula_that_uses_saturation_says_its_basis_or_its_validity(one: Formula) -> None:
    assert not one.needs_refrigerant or one.basis or one.validity


@pytest.mark.parametrize(
    "one",
    [f for f in CATALOG.values() if "inputs" not in inspect.signature(f.compute).parameters],
    ids=lambda f: f.name,
)
def test_the_function_takes_the_inputs_that_the_formula_names(one: Formula) -> None:
    assert {"context", *one.inputs} == set(inspect.signature(one.compute).parameters)


@every
def test_inputs_and_output_are_kinds(one: Formula) -> None:
    assert all(isinstance(kind, Kind) for kind in (*one.inputs.values(), one.output))


def test_an_unknown_formula_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(PhysicsError, match="Did you mean 'superheat'"):
        formula("superheet")


def test_a_formula_without_a_warning_warns_of_nothing() -> None:
    assert warning("compression_ratio", -1.0) == ""
