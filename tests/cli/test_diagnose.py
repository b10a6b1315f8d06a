"""`rackwalk diagnose`: findings from a file, in text and in the documented JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tiny_rulebase import TINY, WriteRulebase

from expert.knowledge.model import Rulebase

from .small_job import Command, Printed

READINGS = """\
refrigerant: R-449A
application: low temperature
defrost: hot gas
altitude: 5280 ft
readings:
  upper_pressure: 198 psig
  lower_pressure: 190 psig
  clearing_time: 24 min
"""


class Diagnose:
    """Runs `rackwalk diagnose` on a text with the tiny rulebase."""

    def __init__(self, command: Command, tmp_path: Path, rules: Path):
        self.command = command
        self.path = tmp_path / "readings.yaml"
        self.rules = rules

    def __call__(self, text: str, *words: str) -> Printed:
        self.path.write_text(text)
        return self.command(
            "diagnose", str(self.path), "--rulebase", str(self.rules), "--engine", "plain", *words
        )

    def document(self, text: str, *words: str) -> dict[str, list[dict[str, object]]]:
        done = self(text, "--json", *words)
        assert done.code == 0, done.err
        return json.loads(done.out)  # type: ignore[no-any-return]


@pytest.fixture
def diagnose(command: Command, tmp_path: Path, write_rulebase: WriteRulebase) -> Diagnose:
    return Diagnose(command, tmp_path, write_rulebase(TINY))


def test_the_json_has_the_documented_shape(diagnose: Diagnose) -> None:
    told = diagnose.document(READINGS)
    (finding,) = told["findings"]
    assert finding["cause"] == "set-low"
    assert finding["title"] == "Regulator set too low"
    assert isinstance(finding["certainty"], float)
    assert 0 <= finding["certainty"] <= 1
    assert all(isinstance(line, str) for line in finding["because"])  # type: ignore[attr-defined]
    for entry in told["measure_next"]:
        assert {"quantity", "why"} <= set(entry)
    assert isinstance(told["cannot_judge"], list)


def test_what_cannot_be_judged_is_told_with_the_reason(diagnose: Diagnose) -> None:
    (entry,) = diagnose.document(READINGS + "  valve: shut\n")["cannot_judge"]
    assert entry == {"what": "differential", "why": "valve is shut"}


def test_findings_come_best_first(diagnose: Diagnose) -> None:
    told = diagnose.document("readings: {rise: 2 F, clearing_time: 24 min}")
    certainties = [finding["certainty"] for finding in told["findings"]]
    assert certainties == sorted(certainties, reverse=True)  # type: ignore[type-var]


def test_the_text_and_the_json_tell_the_same(diagnose: Diagnose) -> None:
    out = diagnose(READINGS).out
    (finding,) = diagnose.document(READINGS)["findings"]
    assert f"1. {finding['title']}" in out
    for line in finding["because"]:  # type: ignore[attr-defined]
        assert line in out


def test_the_units_of_the_sentences_are_those_asked_for(diagnose: Diagnose) -> None:
    assert "0.55 bar" in diagnose(READINGS, "--units", "si").out
    assert "8.0 psi" in diagnose(READINGS).out


def test_readings_that_say_nothing_find_nothing(diagnose: Diagnose) -> None:
    assert diagnose("readings: {remark: all well}").out.startswith("No finding.")


def test_both_engines_tell_the_same(diagnose: Diagnose) -> None:
    pytest.importorskip("durable_rules_engine")
    plain = diagnose.document(READINGS)
    durable = diagnose.document(READINGS, "--engine", "durable")
    assert (plain.pop("engine"), durable.pop("engine")) == ("plain", "durable")
    assert plain == durable


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        ("readings: {clearing_time: 24 psi}", 4, "here a duration is wanted"),
        ("readings:\n  clearing_time:", 4, "Nothing was typed"),
        ("readings: {clearing_tme: 24 min}", 4, "Did you mean 'clearing_time'?"),
        ("readings: {valve: unknown}", 4, "is no answer"),
        ("readings: [", 4, "readings.yaml:"),
        ("- x", 4, "readings.yaml:1:1"),
        ("site: none.yaml\nsubject: A1", 3, "none.yaml"),
    ],
)
def test_a_refused_reading_is_4_and_a_wrong_site_file_3(
    diagnose: Diagnose, text: str, code: int, says: str
) -> None:
    done = diagnose(text)
    assert (done.code, done.out) == (code, "")
    assert says in done.err


def test_a_wrong_rulebase_is_3(diagnose: Diagnose) -> None:
    (diagnose.rules / "all.yaml").write_text(TINY.replace("strong: 0.75", "strong: 75"))
    done = diagnose(READINGS)
    assert done.code == 3
    assert "all.yaml:3:" in done.err


def test_a_file_that_is_not_there_is_a_missing_reading(command: Command, tmp_path: Path) -> None:
    done = command("diagnose", str(tmp_path / "none.yaml"))
    assert done.code == 4
    assert "There is no such file" in done.err


def test_the_shipped_rulebase_diagnoses_too(command: Command, tmp_path: Path) -> None:
    path = tmp_path / "readings.yaml"
    path.write_text(
        "application: low temperature\ndefrost: hot gas\nrefrigerant: R-449A\n"
        "readings:\n  defrost_differential: 8 psi\n  hot_gas_valve: open\n"
        "  defrost_clearing_time: 24 min\n"
    )
    told = json.loads(command("diagnose", str(path), "--json").out)
    assert told["findings"][0]["cause"] == "defrost-differential-set-low"
    assert told["rulebase"].startswith("rackwalk-base ")


def test_a_file_of_rack_readings_is_about_the_rack(
    command: Command, tmp_path: Path, shipped_rulebase: Rulebase
) -> None:
    path = tmp_path / "readings.yaml"
    healthy = (
        "refrigerant: R-449A\napplication: low temperature\nreadings:\n"
        "  suction_header_pressure_at_rest: 15 psig\n"
        "  discharge_header_pressure_at_rest: 180 psig\n"
        "  outdoor_temperature: 75 F\n  receiver_level: 40 %\n  sight_glass: clear\n"
    )

    def asked(text: str) -> set[str]:
        path.write_text(text)
        done = command("diagnose", str(path), "--json", "--engine", "plain")
        assert done.code == 0, done.err
        told = json.loads(done.out)
        assert {"subject", "rulebase", "findings", "measure_next", "cannot_judge"} <= set(told)
        names = [each["quantity"] for each in told["measure_next"]]
        return {shipped_rulebase.quantities[name].subject for name in names}

    of_rack = asked(healthy)
    assert of_rack and not of_rack & {"circuit", "case"}
    assert asked(f"{healthy}  case_air_displayed: 2 F\n") & {"circuit", "case"}
    assert not asked("readings: {complaint: bubbles in the liquid}") & {"circuit", "case"}
