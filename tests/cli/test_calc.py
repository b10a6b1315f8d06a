"""`rackwalk calc`: every formula from the command line, the same in text and in JSON."""

from __future__ import annotations

import argparse
import json
import shlex

import pytest

from expert.cli.calc import command as calc
from expert.physics.frame.catalog import CATALOG
from expert.units.kinds import ATMOSPHERE, Kind

from .small_job import Command, Done


def document(done: Done) -> dict[str, dict[str, dict[str, float]]]:
    assert done.code == 0, done.err
    return json.loads(done.out)  # type: ignore[no-any-return]


def saturation(command: Command, *words: str) -> dict[str, dict[str, dict[str, float]]]:
    return document(command("calc", "saturation", *words, "--json"))


def test_a_temperature_gives_both_pressures_at_it(command: Command) -> None:
    told = saturation(command, "R-449A", "--temperature", "-20F")
    assert told["refrigerant"] == "R-449A"
    for line in ("dew", "bubble"):
        assert told[line]["temperature"] == {"value": -20.0, "unit": "F"}
        assert told[line]["pressure_gauge"]["unit"] == "psig"
        assert told[line]["pressure_absolute"]["unit"] == "psia"
        assert told[line]["pressure_gauge"]["plus_minus"] > 0
    assert told["bubble"]["pressure_gauge"]["value"] > told["dew"]["pressure_gauge"]["value"]


def test_a_pressure_gives_both_temperatures_at_it(command: Command) -> None:
    told = saturation(command, "R-449A", "--pressure", "215psig")
    for line in ("dew", "bubble"):
        assert told[line]["pressure_gauge"] == {"value": 215.0, "unit": "psig"}
        assert told[line]["temperature"]["plus_minus"] > 0
    assert told["dew"]["temperature"]["value"] > told["bubble"]["temperature"]["value"]


def test_temperature_and_pressure_are_each_others_answer(command: Command) -> None:
    dew = saturation(command, "R-448A", "--temperature", "40F")["dew"]["pressure_gauge"]["value"]
    back = saturation(command, "R-448A", "--pressure", f"{dew} psig")["dew"]["temperature"]["value"]
    assert back == pytest.approx(40.0, abs=0.01)


def test_a_gauge_pressure_means_the_barometer_of_the_altitude(command: Command) -> None:
    sea = saturation(command, "R-449A", "--pressure", "12psig")
    high = saturation(command, "R-449A", "--pressure", "12psig", "--altitude", "5280ft")
    # U.S. Standard Atmosphere 1976: 83.4 kPa at 5,280 ft, that is 12.1 psia
    assert high["barometer"]["value"] == pytest.approx(12.10, abs=0.02)
    assert high["dew"]["pressure_absolute"]["value"] == pytest.approx(24.10, abs=0.02)
    assert high["dew"]["temperature"]["value"] < sea["dew"]["temperature"]["value"] - 3


def test_an_absolute_pressure_means_the_same_at_every_altitude(command: Command) -> None:
    sea = saturation(command, "R-449A", "--pressure", "44.7psia")
    high = saturation(command, "R-449A", "--pressure", "44.7psia", "--altitude", "5280ft")
    assert sea["dew"]["temperature"] == high["dew"]["temperature"]
    assert sea["dew"]["pressure_absolute"]["value"] == pytest.approx(44.7)
    assert sea["dew"]["pressure_gauge"]["value"] == pytest.approx(
        44.7 - ATMOSPHERE / 6894.757, abs=0.002
    )


def test_the_units_of_the_answer_are_those_that_were_asked_for(command: Command) -> None:
    told = saturation(command, "R-449A", "--temperature", "-30", "--units", "si")
    assert told["dew"]["temperature"] == {"value": -30.0, "unit": "C"}
    assert told["dew"]["pressure_gauge"]["unit"] == "bar"
    assert told["dew"]["pressure_absolute"]["unit"] == "bara"


def test_a_pure_refrigerant_has_one_line(command: Command) -> None:
    told = saturation(command, "R-290", "--temperature", "32F")
    assert told["dew"]["pressure_gauge"]["value"] == pytest.approx(
        told["bubble"]["pressure_gauge"]["value"], abs=0.05
    )


def test_the_text_says_what_each_line_is_for_and_where_it_comes_from(command: Command) -> None:
    out = command("calc", "saturation", "R-449A", "--pressure", "215psig").out
    assert "Dew (vapour side: superheat, evaporating)" in out
    assert "Bubble (liquid side: subcooling)" in out
    assert "pressure gauge: 215.0 psig" in out
    assert "Source: " in out


@pytest.mark.parametrize(
    ("name", "words", "value"),
    [
        ("superheat", ("R-449A", "--pressure", "12psig", "--line-temperature", "2F"), (16, 20)),
        ("subcooling", ("R-407A", "--pressure", "250psig", "--line-temperature", "95F"), (7, 10)),
    ],
)
def test_superheat_and_subcooling_have_the_documented_shape(
    command: Command, name: str, words: tuple[str, ...], value: tuple[float, float]
) -> None:
    told = document(command("calc", name, *words, "--json"))
    assert set(told[name]) == {"value", "unit", "plus_minus"}
    assert told[name]["unit"] == "F"
    assert value[0] < told[name]["value"] < value[1]  # type: ignore[operator]
    assert told["refrigerant"] == words[0]


def test_superheat_is_the_line_less_the_dew_temperature_and_subcooling_the_bubble_less_the_line(
    command: Command,
) -> None:
    at = saturation(command, "R-407A", "--pressure", "250psig")
    words = ("R-407A", "--pressure", "250psig", "--line-temperature", "95F", "--json")
    superheat = document(command("calc", "superheat", *words))["superheat"]["value"]
    subcooling = document(command("calc", "subcooling", *words))["subcooling"]["value"]
    assert superheat == pytest.approx(95 - at["dew"]["temperature"]["value"], abs=0.01)  # type: ignore[arg-type]
    assert subcooling == pytest.approx(at["bubble"]["temperature"]["value"] - 95, abs=0.01)  # type: ignore[arg-type]


def test_a_result_that_cannot_be_right_comes_with_a_warning(command: Command) -> None:
    words = ("R-449A", "--pressure", "12psig", "--line-temperature", "-30F")
    assert "Warning: " in command("calc", "superheat", *words).out
    assert document(command("calc", "superheat", *words, "--json"))["warning"]


def test_the_accuracy_of_an_input_widens_the_answer(command: Command) -> None:
    words = ("pressure_difference", "--upper", "198psig", "--lower", "190psig")
    exact = document(command("calc", *words, "--json"))["pressure_difference"]
    wide = document(
        command("calc", *words, "--upper-accuracy", "1psi", "--lower-accuracy", "1psi", "--json")
    )["pressure_difference"]
    assert exact == {"value": 8.0, "unit": "psi", "plus_minus": 0.0}
    assert wide["plus_minus"] == pytest.approx(2**0.5, abs=0.001)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("saturation", "R-449A"), 2, "--temperature --pressure is required"),
        (("saturation", "R-449A", "--temperature", "1", "--pressure", "1"), 2, "not allowed with"),
        (("saturation", "R-449"), 2, "required"),
        (("saturation", "R-999", "--pressure", "3"), 4, "No refrigerant is called 'R-999'"),
        (("saturation", "R-449A", "--pressure", "3000"), 4, "must lie between"),
        (("saturation", "R-449A", "--pressure", "40F"), 4, "--pressure: '40F'"),
        (("saturation", "R-449A", "--temperature", "x"), 4, "--temperature: 'x' is not a number"),
        (
            ("saturation", "R-449A", "--pressure", "3", "--altitude", "9 psi"),
            4,
            "--altitude: '9 psi'",
        ),
        (("saturation", "R-449A", "--pressure", "3", "--altitude", "90000ft"), 4, "troposphere"),
        (("superheat", "R-449A", "--pressure", "12psig"), 2, "--line-temperature"),
        (("superheat", "R-449A", "--pressure", "12F", "--line-temperature", "2F"), 4, "--pressure"),
        (("superheat", "R-449A", "--pressure", "-14psig", "--line-temperature", "2F"), 4, "below"),
        (("superheet",), 2, "'superheet' is not known. Did you mean 'superheat'?"),
        ((), 2, "FORMULA"),
    ],
)
def test_what_cannot_be_computed_is_refused_with_the_reason(
    command: Command, words: tuple[str, ...], code: int, says: str
) -> None:
    done = command("calc", *words)
    assert (done.code, done.out) == (code, "")
    assert says in done.err


def test_the_list_names_every_formula_with_its_options(command: Command) -> None:
    out = command("calc", "list").out
    for name, formula in CATALOG.items():
        assert f"{name}: {formula.title}" in out
    assert "REFRIGERANT --pressure --line-temperature" in out


def names() -> list[str]:
    """Every calculation: the formulas of the catalogue, and the tables and verdicts."""
    parser = argparse.ArgumentParser()
    calc.add_arguments(parser)
    (formulas,) = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    return list(formulas.choices)


@pytest.mark.parametrize("name", names())
def test_the_example_in_the_help_of_a_calculation_can_be_typed_as_it_stands(
    command: Command, name: str
) -> None:
    helped = command("calc", name, "--help")
    assert helped.code == 0, helped.err
    assert "exit codes:" in helped.out
    example = helped.out.split("examples:\n")[1].splitlines()[0]
    words = shlex.split(example)
    assert words[:3] == ["rackwalk", "calc", name]
    done = command(*words[1:])
    if any(word.endswith(".yaml") for word in words):  # a file that the reader has to write first
        assert done.code in (3, 4), done.err
        return
    # Invented numbers need not make sense together, but they must be understood.
    assert done.code in (0, 4), done.err
    for kind in Kind:
        assert f"here a {kind.value.replace('_', ' ')} is wanted" not in done.err
    assert "is not a number" not in done.err


def test_every_formula_of_the_catalogue_can_be_calculated() -> None:
    assert set(CATALOG) <= set(names())
