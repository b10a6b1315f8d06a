"""`rackwalk calc`: every formula from the command line, the same in text and in JSON."""

from __future__ import annotations

import json
import resource
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from budget import step

from expert.cli.calc import calc_command as calc
from expert.cli.calc.examples import example, examples
from expert.physics.frame.catalog import CATALOG
from expert.places import shipped
from expert.units.kinds import ATMOSPHERE

from .small_job import Command, Printed


def document(done: Printed) -> dict[str, dict[str, dict[str, float]]]:
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

    def at(accuracy: str) -> dict[str, float]:
        given = ("--upper-accuracy", accuracy, "--lower-accuracy", accuracy)
        return document(command("calc", *words, *given, "--json"))["pressure_difference"]

    assert at("0psi") == {"value": 8.0, "unit": "psi"}
    assert at("1psi")["plus_minus"] == pytest.approx(2**0.5)
    assert at("2psi")["plus_minus"] == pytest.approx(2 * 2**0.5)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("saturation", "R-449A"), 2, "--temperature --pressure is required"),
        (("saturation", "R-449A", "--temperature", "1", "--pressure", "1"), 2, "not allowed with"),
        (("saturation", "R-449"), 2, "required"),
        (("saturation", "R-999", "--pressure", "3"), 4, "No refrigerant called 'R-999'"),
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
        (("superheet",), 2, "There is no 'rackwalk calc superheet'. Did you mean 'superheat'?"),
        ((), 2, "'rackwalk calc' what?"),
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


ADDITIONS = """\
refrigerant: R-449A
full_charge: 1200 lb
additions:
  - {on: 2026-01-10, added: 100 lb}
  - {on: 2026-04-20, added: 150 lb}
"""
NAMES = (*calc.TABLES, *CATALOG)


@pytest.fixture
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The files that the examples name, which a reader has to write first."""
    (tmp_path / "additions.yaml").write_text(ADDITIONS, encoding="utf-8")
    site = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
    (tmp_path / "my-store.yaml").write_text(site, encoding="utf-8")
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("files")
@pytest.mark.parametrize("name", NAMES[:: step(8)])
def test_the_example_in_the_help_of_a_calculation_runs_and_its_answer_is_plausible(
    command: Command, name: str
) -> None:
    helped = command("calc", name, "--help")
    assert helped.code == 0, helped.err
    assert "exit codes:" in helped.out
    words = shlex.split(helped.out.split("examples:\n")[1].splitlines()[0])
    assert words[:3] == ["rackwalk", "calc", name]
    done = command(*words[1:])
    assert (done.code, done.err) == (0, ""), done.err
    assert "Warning" not in done.out or name in ("non-condensables", "suction-group"), done.out
    band = examples()[name].get("gives")
    assert (band is not None) == (name in CATALOG)
    if band:
        value = float(done.out.splitlines()[0].rpartition(": ")[2].split()[0])
        assert band[0] <= value <= band[1]


@pytest.mark.usefixtures("files")
@pytest.mark.parametrize("line", calc.EXAMPLES.strip().splitlines())
def test_the_examples_of_the_command_itself_run(command: Command, line: str) -> None:
    done = command(*shlex.split(line)[1:])
    assert (done.code, done.err) == (0, "")


def test_there_is_an_example_for_each_calculation_and_for_no_other() -> None:
    assert set(examples()) == set(NAMES)


@pytest.mark.parametrize("name", list(CATALOG)[2 :: step(8)])
def test_what_a_result_presupposes_is_told_with_it(command: Command, name: str) -> None:
    told = json.loads(command("calc", name, *shlex.split(example(name)), "--json").out)
    assert told.get("validity", "") == CATALOG[name].validity
    if name not in PLAIN:
        assert told["validity"]


# plain subtractions presuppose nothing
PLAIN = {"pressure_difference", "temperature_difference", "time_difference"}


def test_an_accuracy_that_is_not_given_is_that_of_an_ordinary_instrument_and_says_so(
    command: Command,
) -> None:
    words = ("superheat", "R-449A", "--pressure", "12psig", "--line-temperature", "2F")
    usual = document(command("calc", *words, "--json"))
    assert usual["usual_accuracy"] == ["pressure", "line_temperature"]
    assert usual["inputs"]["pressure"]["plus_minus"] == 1.0  # type: ignore[comparison-overlap]
    assert 1.5 < usual["superheat"]["plus_minus"] < 2.5  # type: ignore[operator]
    assert "of an ordinary instrument" in command("calc", *words).out
    given = ("--pressure-accuracy", "0.1psi", "--line-temperature-accuracy", "0.2F")
    better = document(command("calc", *words, *given, "--json"))
    assert "usual_accuracy" not in better
    assert better["superheat"]["plus_minus"] < 0.7  # type: ignore[operator]
    assert "--pressure-accuracy" in command("calc", "superheat", "--help").out


def test_half_a_psi_over_the_saturation_pressure_is_not_called_air(command: Command) -> None:
    words = ("non-condensables", "R-22", "--pressure", "122psig", "--temperature", "70F")
    assert "verdict: none shown" in command("calc", *words).out
    exact = (*words, "--pressure-accuracy", "0.1psi", "--temperature-accuracy", "0.01F")
    assert "verdict: non-condensables" in command("calc", *exact).out


def test_a_vacuum_that_the_gauge_may_have_wrong_is_too_close_to_call(command: Command) -> None:
    readings = ("300 at 0", "600 at 10", "660 at 20", "680 at 30")
    words = ("standing-vacuum", *readings, "--warmest-pipe", "70F")
    assert "verdict: too close to call" in command("calc", *words).out
    assert "verdict: tight and dry" in command("calc", *words, "--gauge-accuracy", "1%").out


def test_a_vacuum_that_falls_is_not_called_tight(command: Command) -> None:
    readings = ("900 at 0", "600 at 10", "400 at 20", "300 at 30")
    out = command("calc", "standing-vacuum", *readings, "--warmest-pipe", "70F").out
    assert "verdict: too soon to say" in out
    assert "fell" in out


@pytest.mark.parametrize(
    ("typed", "readings"), [("0.7", "0.7 % or 70 %"), ("1", "1 % or 100 %"), ("40", "40 % or")]
)
def test_a_share_without_its_sign_is_refused_with_both_readings(
    command: Command, typed: str, readings: str
) -> None:
    done = command("calc", "volumetric_efficiency", "--clearance", typed,
                   "--specific-volume-ratio", "6")  # fmt: skip
    assert done.code == 4
    assert readings in done.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("standing_vacuum_rise", "--start", "300", "--end", "450"), "150 micron"),
        (("water_boiling_temperature", "--vacuum", "4600"), "32.1 F"),
        (("leak_rate_annualizing", "--added", "40", "--full-charge", "1200", "--elapsed", "60"),
         "20.3 %"),
        (("pipe_velocity", "--mass-flow", "1800", "--density", "1", "--inside-diameter", "1.505"),
         "2428 fpm"),
        (("frost_gathered", "--moisture-load", "0.8", "--duration", "6"), "4.8 lb"),
    ],
)  # fmt: skip
def test_a_bare_number_takes_the_unit_of_those_who_use_the_command(
    command: Command, words: tuple[str, ...], says: str
) -> None:
    assert says in command("calc", *words).out


def test_a_receiver_level_may_be_given_in_inches(command: Command) -> None:
    vessel = ("--position", "horizontal", "--heads", "flat", "--diameter", "20", "--length", "80")
    share = command("calc", "receiver_volume_share", *vessel, "--level", "10in").out
    assert "50 %" in share.splitlines()[0]
    done = command("calc", "receiver_volume_share", *vessel, "--level", "30in")
    assert done.code == 4
    assert "between 0.0 and" in done.err


def test_a_small_result_does_not_vanish_and_json_is_exact(command: Command) -> None:
    words = ("nitrogen_leak_flow", *shlex.split(example("nitrogen_leak_flow")))
    told = document(command("calc", *words, "--json"))["nitrogen_leak_flow"]
    shown = float(command("calc", *words).out.splitlines()[0].rpartition(": ")[2].split()[0])
    assert shown == pytest.approx(told["value"], rel=0.05)
    assert len(str(told["value"])) > 8


def test_an_unknown_plus_minus_is_left_out(command: Command) -> None:
    words = ("capacity_at_difference", *shlex.split(example("capacity_at_difference")), "--json")
    assert "plus_minus" not in document(command("calc", *words))["capacity_at_difference"]


def test_a_saturation_starts_in_little_more_than_the_interpreter_needs() -> None:
    """Processor time against the bare interpreter, in one run: 13 times it was, 7 it is."""
    commands = {
        "saturation": ("R-449A", "--temperature=-20F"),
        "superheat": ("R-449A", "--pressure", "12psig", "--line-temperature", "2F"),
        "subcooling": ("R-407A", "--pressure", "250psig", "--line-temperature", "95F"),
    }
    bare = least_time("-c", "pass")
    for name, words in commands.items():
        taken = least_time("-m", "expert", "calc", name, *words, enough=9 * bare)
        assert taken < 9 * bare, f"{name}: {taken / bare:.1f} times the bare interpreter"


def least_time(*words: str, enough: float = 0.0) -> float:
    """The least processor time [s] of a few runs of the interpreter, or the first below enough."""
    taken: list[float] = []
    while len(taken) < 7 and min(taken, default=enough) >= enough:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, *words], stdout=subprocess.DEVNULL, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(taken)
