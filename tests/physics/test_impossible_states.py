"""Every formula is fed what cannot be: it answers with a sentence, never with an impossible number.

Generated from the examples of the help: each input in turn below zero, zero, far out of range,
not a number, of the wrong kind, and each pair of one kind the wrong way round.
"""

from __future__ import annotations

import itertools
import math
import shlex
from collections.abc import Iterator

import pytest
from budget import step

from expert.cli.calc.any_formula import asked_of
from expert.cli.calc.examples import example
from expert.cli.calc.results import option
from expert.physics.frame.catalog import CATALOG
from expert.physics.frame.formula import Context, Formula
from expert.physics.frame.physics_errors import PhysicsError
from expert.units.kinds import ATMOSPHERE, PSI, Kind
from expert.units.parse import parse_measure

BELOW_ZERO = {  # formulas whose result has a sign that means something, and is told or warned of
    "pressure_difference", "temperature_difference", "superheat", "subcooling",
    "coil_temperature_difference", "condenser_temperature_difference", "pressure_above_bubble",
    "receiver_charge_change", "liquid_line_lift_loss", "valve_inlet_subcooling",
    "defrost_melting_margin", "defrost_melting_margin_at_end", "nitrogen_unexplained_fall",
    "nitrogen_unexplained_share", "standing_vacuum_rise", "standing_vacuum_late_share",
    "vacuum_margin_to_boiling", "surface_sweat_margin", "voltage_from_reference",
    "current_from_reference",
}  # fmt: skip
WARNED = {
    "superheat", "subcooling", "coil_temperature_difference", "condenser_temperature_difference",
}  # fmt: skip
HOTTEST = 800.0  # K
HIGHEST = 40e6  # Pa
FAR = (-1e9, -1.0, 0.0, 1e-12, 1e9, math.nan, math.inf, -math.inf)
each = pytest.mark.parametrize("name", sorted(CATALOG)[:: step(3)])


def usual(formula: Formula) -> tuple[Context, dict[str, float | str]]:
    """The inputs of the example in the help."""
    words = shlex.split(example(formula.name))
    fluid = words.pop(0) if formula.needs_refrigerant else None
    typed = {words[i]: words[i + 1] for i in range(0, len(words), 2)}
    values: dict[str, float | str] = {
        key: typed[option(key)] for key, kind in formula.inputs.items() if kind is Kind.CHOICE
    }
    for asked in sorted(asked_of(formula), key=lambda one: one.also is not None):
        text = typed[option(asked.name)]
        if asked.also and not text.endswith("%"):
            other = parse_measure(text, asked.also.kind).value
            values[asked.name] = asked.also.turn(values, other)
        else:
            unit = asked.units[0]
            values[asked.name] = parse_measure(
                text, asked.kind, barometer=ATMOSPHERE, unit=unit
            ).value
    return Context(fluid), values


def changed(formula: Formula) -> Iterator[tuple[str, dict[str, float | str]]]:
    _, values = usual(formula)
    numbers = [key for key, value in values.items() if not isinstance(value, str)]
    for key in numbers:
        for far in FAR:
            yield f"{key} = {far}", {**values, key: far}
        for factor in (-1.0, 0.01, 100.0):
            yield f"{key} x {factor}", {**values, key: factor * float(values[key])}
    for first, second in itertools.combinations(numbers, 2):
        if formula.inputs[first] is formula.inputs[second]:
            swapped = {**values, first: values[second], second: values[first]}
            yield f"{first} and {second} swapped", swapped


def impossible(formula: Formula, result: float) -> str:
    """What is wrong with a result, or nothing."""
    kind = formula.output
    if not math.isfinite(result):
        return "not a finite number"
    if kind is Kind.TEMPERATURE and not 100 < result < HOTTEST:
        return "no temperature of a store"
    if kind is Kind.GAUGE_PRESSURE and not -ATMOSPHERE <= result < HIGHEST:
        return "no pressure of a gauge"
    if kind not in (Kind.TEMPERATURE, Kind.GAUGE_PRESSURE) and result < 0:
        if formula.name not in BELOW_ZERO:
            return "below zero"
        if formula.name in WARNED and not formula.warn(result):
            return "below zero without a warning"
    if formula.name == "compression_ratio" and result < 1:
        return "discharge below suction"
    return ""


@each
def test_the_example_itself_gives_a_number(name: str) -> None:
    context, values = usual(CATALOG[name])
    assert not impossible(CATALOG[name], CATALOG[name].compute(context, **values))


@each
def test_what_cannot_be_gives_a_sentence_and_never_a_number_that_cannot_be(name: str) -> None:
    formula = CATALOG[name]
    context, _ = usual(formula)
    refused = 0
    for what, values in changed(formula):
        try:
            result = formula.compute(context, **values)
        except PhysicsError as error:
            refused += 1
            assert str(error).endswith("."), what
            continue
        assert not impossible(formula, result), f"{what}: {result}"
    assert refused


@each
def test_a_number_of_the_wrong_kind_is_refused_by_name(name: str) -> None:
    from expert.errors import ReadingError

    for asked in asked_of(CATALOG[name]):
        wrong = "3 V" if asked.kind is not Kind.VOLTAGE else "3 psi"
        with pytest.raises(ReadingError, match="wanted"):
            parse_measure(wrong, asked.kind, barometer=ATMOSPHERE, signed=True)


def test_liquid_that_would_boil_is_refused_or_treated_as_boiling() -> None:
    drier, inlet = CATALOG["drier_temperature_drop"], 220 * PSI
    bubble = CATALOG["bubble_temperature"].compute(Context("R-449A"), pressure=inlet)
    fall = CATALOG["drier_saturation_drop"].compute(Context("R-449A"), pressure=inlet, drop=PSI)

    def at(temperature: float) -> float:
        return drier.compute(
            Context("R-449A"), pressure=inlet, drop=PSI, liquid_temperature=temperature
        )

    assert at(bubble) == pytest.approx(fall)
    assert at(bubble + 1) == pytest.approx(fall)  # read a little too warm: it boils already
    with pytest.raises(PhysicsError, match="not all liquid"):
        at(bubble + 2)


@pytest.mark.parametrize(
    ("name", "values", "says"),
    [
        ("compression_ratio", {"suction": 200 * PSI, "discharge": 20 * PSI}, "changed places"),
        ("suction_set_point_shortcut", {"case_temperature": 240.0, "allowance": 60 * PSI}, "rack"),
        ("expansion_valve_pressure_drop",
         {"liquid_pressure": 20 * PSI, "evaporating_pressure": 200 * PSI}, "changed places"),
        ("time_difference", {"later": 60.0, "earlier": 120.0}, "before the earlier"),
        ("standing_vacuum_rise", {"start": 60.0, "end": 20.0}, "fell"),
    ],
)  # fmt: skip
def test_swapped_and_impossible_pairs_are_told_as_such(
    name: str, values: dict[str, float], says: str
) -> None:
    with pytest.raises(PhysicsError, match=says):
        CATALOG[name].compute(Context("R-449A"), **values)
