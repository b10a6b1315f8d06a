"""The catalogue: every formula complete, and all that derived values call is there."""

from __future__ import annotations

import inspect
import math
from typing import Any

import pytest
from budget import examples
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from expert.physics.frame.catalog import CATALOG, formula, warning
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import Kind

CALLED = {
    "superheat",
    "subcooling",
    "dew_temperature",
    "bubble_temperature",
    "mid_temperature",
    "dew_pressure",
    "bubble_pressure",
    "pressure_difference",
    "temperature_difference",
    "suction_set_point_shortcut",
    "suction_set_point_shortcut_mid",
    "suction_set_point_design",
    "coil_temperature_difference",
    "line_drop_temperature",
    "regulator_holding_pressure_dew",
    "regulator_holding_pressure_mid",
    "condenser_temperature_difference",
    "compression_ratio",
    "time_difference",
    "gas_condensing_temperature",
    "expansion_valve_pressure_drop",
}
every = pytest.mark.parametrize("one", CATALOG.values(), ids=lambda f: f.name)
# SI values that a person may type, right or wrong, for each kind.
PLAUSIBLE: dict[Kind, tuple[float, float]] = {
    Kind.TEMPERATURE: (200, 400),
    Kind.TEMPERATURE_DIFFERENCE: (-20, 60),
    Kind.GAUGE_PRESSURE: (-1e5, 5e6),
    Kind.ABSOLUTE_PRESSURE: (1, 5e6),
    Kind.PRESSURE_DIFFERENCE: (-1e5, 1e6),
    Kind.DURATION: (-100, 1e6),
    Kind.SHARE: (-0.1, 1.2),
    Kind.LENGTH: (-1, 200),
    Kind.MASS: (-1, 1e4),
    Kind.POWER: (-10, 1e6),
}


@st.composite
def calls(draw: st.DrawFn) -> tuple[Formula, Context, dict[str, Any]]:
    """A formula with a context and inputs, plausible ones or any floats at all."""
    one = draw(st.sampled_from(list(CATALOG.values())))
    wild = draw(st.booleans())
    inputs: dict[str, Any] = {}
    for name, kind in one.inputs.items():
        if kind is Kind.CHOICE:
            inputs[name] = draw(st.sampled_from(one.choices[name]))
        elif wild:
            inputs[name] = draw(st.floats())
        else:
            inputs[name] = draw(st.floats(*PLAUSIBLE.get(kind, (-1.0, 1e3))))
    name = draw(st.sampled_from(["R-404A", "R-455A", "R-744", "R-22", "R-402A", None]))
    return one, Context(name, draw(st.floats(6e4, 1.1e5))), inputs


@given(calls())
@settings(max_examples=examples(1500), deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_inputs_give_a_finite_number_or_a_refusal_in_words(
    call: tuple[Formula, Context, dict[str, Any]],
) -> None:
    one, context, inputs = call
    try:
        found = one.compute(context, **inputs)
    except PhysicsError as error:
        assert str(error).endswith((".", "?", "'"))
    else:
        assert math.isfinite(found)


@every
def test_an_input_that_is_not_a_number_is_refused(one: Formula) -> None:
    inputs = {
        name: one.choices[name][0] if kind is Kind.CHOICE else math.nan
        for name, kind in one.inputs.items()
    }
    with pytest.raises(PhysicsError, match="not a finite number"):
        one.compute(Context("R-404A"), **inputs)


@pytest.mark.parametrize("name", sorted(CALLED))
def test_the_catalogue_has_what_derived_values_call(name: str) -> None:
    assert formula(name).name == name


@every
def test_a_formula_explains_itself_in_kinds(one: Formula) -> None:
    assert one.title
    assert one.text
    assert one.source
    assert one.inputs
    assert all(isinstance(kind, Kind) for kind in (*one.inputs.values(), one.output))


@pytest.mark.parametrize(
    "one", [f for f in CATALOG.values() if "saturation" in f.source], ids=lambda f: f.name
)
def test_a_formula_that_uses_saturation_says_its_basis(one: Formula) -> None:
    assert one.needs_refrigerant
    assert any(word in f"{one.basis} {one.text}" for word in ("dew", "bubble", "mid-point"))


@pytest.mark.parametrize(
    "one",
    [f for f in CATALOG.values() if "inputs" not in inspect.signature(f.compute).parameters],
    ids=lambda f: f.name,
)
def test_the_function_takes_the_inputs_that_the_formula_names(one: Formula) -> None:
    assert {"context", *one.inputs} == set(inspect.signature(one.compute).parameters)


def test_an_unknown_formula_is_refused_with_the_nearest_name() -> None:
    with pytest.raises(PhysicsError, match="Did you mean 'superheat'"):
        formula("superheet")


def test_a_formula_without_a_warning_warns_of_nothing() -> None:
    assert warning("compression_ratio", -1.0) == ""


@every
def test_the_docstring_beside_a_formula_names_its_sources(one: Formula) -> None:
    module = inspect.getmodule(one.compute)
    told = " ".join(f"{module.__doc__ if module else ''} {one.compute.__doc__ or ''}".split())
    for part in one.source.split("; "):
        said = part.removeprefix("published: ").removeprefix("computed: ")
        said = said.removeprefix("saturation from ")
        assert said in told, f"{one.name}: '{said}' is not named in {one.compute.__module__}"
