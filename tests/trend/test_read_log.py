"""The `log` section of a site file: what it says, and what is told when it is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from shipped_knowledge import shipped_rules

from expert.author.files.json_schema import schema_for
from expert.errors import PackError
from expert.knowledge.load_site import load_site, parse_site
from expert.knowledge.model import Rulebase
from expert.places import shipped

SITE = """\
site: {name: Test, altitude: 5280 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    defrost: hot gas
    circuits: [{id: A1}, {id: A2}, {id: A10}]
log:
  time: {column: Time, zone: America/Denver}
  file: {separator: semicolon, decimal: comma, encoding: utf-8}
  no_value: [offline]
  columns:
    - of: "A?"
      read:
        logged_coil_temperature: {column: "{id} coil", unit: C}
        logged_circuit_pressure: {column: "{id} p", unit: bara}
        logged_defrost_state: {column: "{id} mode", words: {cooling: cool, defrost: [gas, 2]}}
    - of: A2
      read:
        logged_coil_temperature: {column: special, unit: F}
        logged_liquid_header: {column: own liquid, unit: psig}
"""
PRESSURE = "logged_circuit_pressure"


@pytest.fixture(scope="module")
def rules() -> Rulebase:
    return shipped_rules()


def test_patterns_meet_circuits_and_what_stands_below_wins(rules: Rulebase) -> None:
    log = parse_site(SITE, "site.yaml", rules).log
    assert log is not None
    got = {(each.subject, each.quantity): each for each in log.columns}
    assert {subject for subject, _ in got} == {"A1", "A2"}
    assert got["A1", "logged_coil_temperature"].column == "A1 coil"
    assert not got["A1", "logged_coil_temperature"].named
    assert got["A2", "logged_coil_temperature"].column == "special"
    assert got["A2", "logged_liquid_header"].named  # a circuit on a header of its own
    assert got["A1", "logged_defrost_state"].words == {
        "cool": "cooling", "gas": "defrost", "2": "defrost",
    }  # fmt: skip


def test_absolute_pressures_take_the_barometer_of_the_altitude(rules: Rulebase) -> None:
    log = parse_site(SITE, "site.yaml", rules).log
    assert log is not None
    column = next(each for each in log.columns if each.quantity == "logged_circuit_pressure")
    assert 1.0 * column.factor + column.offset == pytest.approx(1e5 - 83437, abs=100)


@pytest.mark.parametrize(
    ("right", "wrong", "code", "hint"),
    [
        ("America/Denver", "America/Dever", "unknown-zone", "America/Denver"),
        (PRESSURE, "logged_circuit_presure", "unknown-quantity", PRESSURE),
        (PRESSURE, "circuit_pressure", "unknown-quantity", PRESSURE),
        ("unit: bara", "unit: barr", "unknown-unit", "bar"),
        ("of: A2", "of: A22", "unknown-subject", "A2"),
        ('of: "A?"', 'of: "Q*"', "unknown-subject", "Known"),
        ('"{id} p"', "p", "one-column-for-many", "{id} p"),
        ("cooling: cool", "coolin: cool", "bad-choice", "cooling"),
        ("[gas, 2]", "[gas, cool]", "bad-choice", ""),
        ("separator: semicolon", "separator: semicolons", "unknown-word", "semicolon"),
        ("encoding: utf-8", "encoding: utf-99", "unknown-encoding", "utf-8"),
        ("zone: America/Denver", "zone: UTC, form: '%H:%M'", "bad-form", "%m/%d/%Y"),
        ("no_value", "no_vale", "unknown-key", "no_value"),
        (", unit: C", "", "missing-key", ""),
        ("of: A2\n", "of: A\n", "one-column", ""),
    ],
)  # fmt: skip
def test_a_mistake_is_told_with_its_place(
    rules: Rulebase, right: str, wrong: str, code: str, hint: str
) -> None:
    if code == "one-column":  # a rack has no coil
        code = "wrong-subject"
    with pytest.raises(PackError) as told:
        parse_site(SITE.replace(right, wrong, 1), "site.yaml", rules)
    (problem, *_) = told.value.problems
    assert problem.code == code
    assert problem.place.line > 7
    assert hint in problem.hint


def plain(value: Any) -> Any:
    return json.loads(json.dumps(value))


def test_the_schema_takes_the_section_and_refuses_what_the_reader_refuses(rules: Rulebase) -> None:
    judge = jsonschema.Draft202012Validator(schema_for("site", rules))
    assert list(judge.iter_errors(plain(yaml.safe_load(SITE)))) == []
    for right, wrong in (
        ("logged_circuit_pressure", "circuit_pressure"), ("cooling: cool", "coolin: cool"),
        ("zone: America/Denver", "zon: UTC"), ("separator: semicolon", "separator: colon"),
        (", unit: C", ""),
    ):  # fmt: skip
        assert list(judge.iter_errors(plain(yaml.safe_load(SITE.replace(right, wrong, 1))))), wrong


def test_the_demonstration_store_has_a_log(rules: Rulebase) -> None:
    path = Path(shipped("checklists")) / "demo" / "site.yaml"
    log = load_site(path, rules).log
    assert log is not None
    assert path.with_name("log-sample.csv").stat().st_size < 200_000
