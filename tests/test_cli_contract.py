"""What other programs and people may rely on: commands, help, exit codes, JSON shapes."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from expert.cli.frame.main import COMMANDS, main

TOP = Path(__file__).parents[1]
ASKED_FOR = (
    "demo", "list", "run", "resume", "jobs", "report", "diagnose", "calc", "quantities", "rules",
    "refrigerant", "audit",
)  # fmt: skip
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Runs the command with its own folder of jobs; gives exit code, stdout and stderr."""
    monkeypatch.setenv("RACKWALK_HOME", str(tmp_path / "home"))
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.delenv("RACKWALK_UNITS", raising=False)
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))

    def call(*words: str) -> tuple[int, str, str]:
        try:
            code = main(words)
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return code, told.out, told.err

    return call


def document(done: tuple[int, str, str]) -> Any:
    code, out, err = done
    assert code == 0, err
    assert err == ""
    return json.loads(out)


def is_number_object(value: object) -> bool:
    """`{"value": 23.97, "unit": "psig", "plus_minus": 0.1}`, the last where it is known."""
    return (
        isinstance(value, dict)
        and {"value", "unit"} <= set(value) <= {"value", "unit", "plus_minus"}
        and all(isinstance(value[key], float | int) for key in value if key != "unit")
        and isinstance(value["unit"], str)
        and value.get("plus_minus", 0) >= 0
    )


def bare_numbers(value: object, path: str = "") -> list[str]:
    """Where a document has a number of physics without its unit."""
    if is_number_object(value):
        return []
    if isinstance(value, dict):
        return [p for key, inner in value.items() for p in bare_numbers(inner, f"{path}.{key}")]
    if isinstance(value, list):
        return [p for each in value for p in bare_numbers(each, f"{path}[]")]
    return [path] if isinstance(value, float) else []


def test_every_command_that_was_asked_for_is_there() -> None:
    assert set(ASKED_FOR) <= set(COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_examples_and_exit_codes(run: Run, name: str) -> None:
    code, out, err = run(name, "--help")
    assert (code, err) == (0, "")
    assert COMMANDS[name][1] in out
    assert "exit codes: 0 done; 2 " in out
    examples = out.split("examples:\n")[1].split("\n\n")[0].splitlines()
    assert examples
    for line in examples:
        assert line.strip().startswith(f"rackwalk {name}"), line


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_in_an_example_is_an_option_of_the_command(run: Run, name: str) -> None:
    helped = run(name, "--help")[1]
    examples = helped.split("examples:\n")[1].split("\n\n")[0]
    for line in examples.splitlines():
        words = shlex.split(line)
        # an action or a formula has a help of its own
        inner = [word for word in words[2:3] if re.fullmatch(r"[a-z][a-z_-]*", word)]
        told = helped
        if name in ("calc", "rules", "refrigerant") and inner and inner[0] != "list":
            told = run(name, inner[0], "--help")[1]
        for option in (word.split("=")[0] for word in words if word.startswith("--")):
            assert option == "--help" or option in told, f"{line}: {option}"


@pytest.mark.parametrize("name", COMMANDS)
def test_an_option_that_is_not_there_is_bad_use_and_says_how_to_get_help(
    run: Run, name: str
) -> None:
    code, out, err = run(name, "--no-such-option")
    assert (code, out) == (2, "")
    assert re.search(r"--help|no-such-option", err)


@pytest.mark.parametrize(
    ("typed", "meant"), [("calculate", "calc"), ("diagnosis", "diagnose"), ("rule", "rules")]
)
def test_an_unknown_command_suggests_the_nearest(run: Run, typed: str, meant: str) -> None:
    code, out, err = run(typed)
    assert (code, out) == (2, "")
    assert f"Did you mean '{meant}'?" in err


BAD_PACK = {"rules.yaml": "rules: [{id: x}]\n"}
SATURATION = ("calc", "saturation", "R-449A")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("calc",), 2), (SATURATION, 2), ((*SATURATION, "--pressure"), 2), (("diagnose",), 2),
        (("quantities", "--units", "x"), 2), (("rules", "nothing"), 2), (("run",), 2),
        (("report",), 2), (("rules", "check", "--rulebase", "{bad}"), 3),
        (("quantities", "--rulebase", "{bad}"), 3), (("quantities", "--rulebase", "{none}"), 3),
        (("diagnose", "{readings}", "--rulebase", "{bad}"), 3), (("list", "--site", "{bad}"), 3),
        ((*SATURATION, "--pressure", "x"), 4), ((*SATURATION, "--pressure", "40 F"), 4),
        (("calc", "saturation", "R-1", "--pressure", "3"), 4), (("diagnose", "{none}"), 4),
        (("diagnose", "{refused}"), 4), (("diagnose", "{broken}"), 4),
        (("calc", "list"), 0), (("list",), 0), (("jobs",), 0), (("rules", "check"), 0),
        (("diagnose", "{readings}"), 0), ((), 0), (("audit",), 0), (("refrigerant",), 2),
        (("audit", "--within", "0"), 2), (("audit", "--since", "May"), 2),
    ],
)  # fmt: skip
def test_the_exit_code_is_the_documented_one(
    run: Run, tmp_path: Path, words: tuple[str, ...], code: int
) -> None:
    files = {
        "bad": tmp_path / "bad",
        "none": tmp_path / "none",
        "readings": tmp_path / "readings.yaml",
        "refused": tmp_path / "refused.yaml",
        "broken": tmp_path / "broken.yaml",
    }
    files["bad"].mkdir()
    (files["bad"] / "rules.yaml").write_text(BAD_PACK["rules.yaml"])
    files["readings"].write_text("application: low temperature\ndefrost: hot gas\n")
    files["refused"].write_text("defrost_differential: 8 F\n")
    files["broken"].write_text("defrost_differential: [\n")
    got, out, err = run(*(word.format(**files) for word in words))
    assert got == code, err
    if code:
        assert out == ""
        assert err.startswith("rackwalk")


def test_nothing_ends_in_a_traceback_even_as_a_process_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "loop.yaml"
    path.write_text("a: &x [*x]\n")
    (tmp_path / "latin.yaml").write_bytes(b"valve: \xe9\n")
    for words in (["diagnose", str(path)], ["diagnose", str(tmp_path / "latin.yaml")],
                  ["diagnose", str(tmp_path)], ["calc", "superheat", "\udcff"]):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "expert", *words], capture_output=True, text=True, check=False,
            errors="surrogateescape", env={**os.environ, "PYTHONPATH": str(TOP)},
        )  # fmt: skip
        assert done.returncode in (2, 4), done.stderr
        assert "Traceback" not in done.stderr
        assert done.stdout == ""


@pytest.mark.parametrize(
    "asked", [("--temperature", "-20F"), ("--pressure", "12psig"), ("--pressure", "44.7psia")]
)
def test_calc_saturation_gives_dew_and_bubble_with_three_number_objects_each(
    run: Run, asked: tuple[str, str]
) -> None:
    told = document(run("calc", "saturation", "R-448A", *asked, "--altitude", "5280ft", "--json"))
    assert told["refrigerant"] == "R-448A"
    for line in ("dew", "bubble"):
        assert set(told[line]) == {"temperature", "pressure_gauge", "pressure_absolute"}
        assert all(map(is_number_object, told[line].values()))
        units = [
            told[line][k]["unit"] for k in ("temperature", "pressure_gauge", "pressure_absolute")
        ]
        assert units == ["F", "psig", "psia"]
    assert bare_numbers(told) == []


@pytest.mark.parametrize("name", ["superheat", "subcooling"])
def test_calc_superheat_and_subcooling_give_a_number_object_of_their_name(
    run: Run, name: str
) -> None:
    words = ("calc", name, "R-449A", "--pressure", "215psig", "--line-temperature", "90F", "--json")
    told = document(run(*words))
    assert is_number_object(told[name])
    assert told[name]["unit"] == "F"
    assert bare_numbers(told) == []
    assert document(run(*words, "--units", "si"))[name]["unit"] == "K"


READINGS = """\
refrigerant: R-449A
application: low temperature
defrost: hot gas
altitude: 5280 ft
readings:
  hot_gas_header_pressure: 198 psig
  liquid_header_pressure: 190 psig
  hot_gas_valve: open
  defrost_clearing_time: 24 min
"""


def test_diagnose_gives_findings_what_to_measure_next_and_what_cannot_be_judged(
    run: Run, tmp_path: Path
) -> None:
    path = tmp_path / "readings.yaml"
    path.write_text(READINGS)
    told = document(run("diagnose", str(path), "--json"))
    assert told["findings"]
    for finding in told["findings"]:
        assert isinstance(finding["cause"], str)
        assert isinstance(finding["title"], str)
        assert 0 <= finding["certainty"] <= 1
        assert finding["because"]
        assert all(isinstance(line, str) for line in finding["because"])
    certainties = [finding["certainty"] for finding in told["findings"]]
    assert certainties == sorted(certainties, reverse=True)
    assert told["measure_next"]
    for entry in told["measure_next"]:
        assert isinstance(entry["quantity"], str)
        assert isinstance(entry["why"], str)
    for entry in told["cannot_judge"]:
        assert isinstance(entry["what"], str)
        assert isinstance(entry["why"], str)
    assert all(map(is_number_object, told["derived"].values()))


def test_diagnose_of_the_same_file_gives_the_same_bytes_whatever_the_hash_seed(
    tmp_path: Path,
) -> None:
    path = tmp_path / "readings.yaml"
    path.write_text(READINGS)
    told = {
        subprocess.run(
            [sys.executable, "-m", "expert", "diagnose", str(path), "--json"],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(TOP)},
            capture_output=True, check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(told) == 1


def test_quantities_gives_the_dictionary_with_number_objects(run: Run) -> None:
    told = document(run("quantities", "--json"))
    assert len(told) > 60
    for quantity in told:
        assert {"id", "title", "subject", "kind", "source"} <= set(quantity)
        assert (quantity["kind"] == "choice") == bool(quantity.get("choices"))
    assert bare_numbers(told) == []


@pytest.mark.parametrize(
    "words", [("list",), ("jobs",), ("rules", "check"), ("quantities", "drier"),
              ("calc", "saturation", "R-290", "--pressure", "50psig")],
)  # fmt: skip
def test_json_is_one_document_on_stdout_and_nothing_else(run: Run, words: tuple[str, ...]) -> None:
    document(run(*words, "--json"))
