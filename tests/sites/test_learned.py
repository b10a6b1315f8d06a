"""What a job offers to its store can be kept as it is offered, on the part that it belongs to."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.procedure.active import Active
from expert.procedure.checklist import Phase, Step
from expert.procedure.entries import Entry
from expert.procedure.picture import fold
from expert.sites.data import data_of, set_row, set_value, text_of
from expert.sites.learned import JobTells, Learned, learned

SITE = """
site: {name: Own store (invented), invented: yes, altitude: 0 ft}
racks:
  - {id: A, title: Rack A, refrigerant: R-448A, application: low temperature, defrost: hot gas,
     compressors: [{id: AC1}],
     circuits: [{id: A4, title: Freezers, cases: [{id: A4-1}]}]}
"""
AT = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
OUTDOOR = {"quantity": "outdoor_temperature", "kind": "temperature", "text": "66", "value": 292.0}
MODE = {"quantity": "condenser_mode", "kind": "choice", "text": "1", "value": "full"}
RECLAIM = {"quantity": "heat_reclaim", "kind": "choice", "text": "2", "value": "off"}
LEVEL = {"quantity": "receiver_level", "kind": "share", "text": "38", "value": 0.38}
ON_SHEET = {"quantity": "receiver_level_on_sheet", "kind": "share", "text": "40 %", "value": 0.4}
WRITTEN = "written"  # the step that says to write on the sheet


def found_in(rules: Rulebase, site: Site, subject: str, *said: dict[str, object]) -> list[Learned]:
    """What a job tells whose entries say so; one without a quantity is the written sheet."""
    entries, steps = [], []
    phase = Phase("p", "P", "as found", ())
    for seq, data in enumerate(said, 1):
        key = f"step-{seq}"
        done = data == {}
        sheet = "receiver_level_on_sheet" if done else ""
        entries.append(Entry(seq, AT, "done" if done else "answer", key, data))
        steps.append(Active(key, Step(key, "instruct", "x", sheet=sheet), phase, "as found"))
    return learned(fold(entries), steps, JobTells(site, subject, rules, "us", "A. Sample"))


def kept(rules: Rulebase, text: str, found: list[Learned]) -> Site:
    """The store with all of it."""
    data = data_of(text, "own.yaml")
    for each in found:
        if each.row:
            set_row(data, each.on, each.quantity.id, dict(each.row), dict(each.instead))
        else:
            set_value(data, each.on, each.quantity.id, each.text)
    return parse_site(text_of(data), "own.yaml", rules)


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return parse_site(SITE, "own.yaml", shipped_rulebase)


def test_a_choice_typed_by_its_number_is_offered_in_its_words(
    shipped_rulebase: Rulebase, site: Site
) -> None:
    gas = {"quantity": "defrost_gas", "kind": "choice", "text": "1", "value": "hot gas"}
    drip = {"quantity": "drip_setting", "kind": "duration", "text": "4", "value": 240.0}
    found = found_in(shipped_rulebase, site, "A4", gas, drip)
    assert [each.text for each in found] == ["hot gas", "4 min"]
    after = kept(shipped_rulebase, SITE, found)
    assert after.subjects["A4"].values["defrost_gas"].value == "hot gas"


@pytest.mark.parametrize(
    ("subject", "quantity", "kind", "value", "on"),
    [
        ("AC1", "plate_voltage", "voltage", 460.0, "AC1"),
        ("AC1", "design_condenser_difference", "temperature_difference", 5.0, "A"),
        ("A4-1", "heater_plate_current", "current", 24.0, "A4"),
        ("A", "termination_setting", "temperature", 286.0, "A"),  # holds for its circuits
    ],
)
def test_a_value_is_offered_to_the_part_it_belongs_to(
    shipped_rulebase: Rulebase, site: Site, subject: str, quantity: str, kind: str,
    value: float, on: str,
) -> None:  # fmt: skip
    said = {"quantity": quantity, "kind": kind, "text": "20", "value": value}
    (found,) = found_in(shipped_rulebase, site, subject, said)
    assert (found.on, found.quantity.id, found.who, found.at) == (on, quantity, "A. Sample", AT)


def test_a_plate_read_on_no_compressor_is_nobody_s(shipped_rulebase: Rulebase, site: Site) -> None:
    said = {"quantity": "plate_voltage", "kind": "voltage", "text": "460", "value": 460.0}
    assert found_in(shipped_rulebase, site, "A", said) == []


def test_low_normal_or_high_is_no_setting(shipped_rulebase: Rulebase, site: Site) -> None:
    said = {"quantity": "condensing_floor", "kind": "temperature", "text": "low", "value": "low"}
    assert found_in(shipped_rulebase, site, "A", said) == []


@pytest.mark.parametrize(
    ("last", "how", "says"), [(ON_SHEET, "read", "40 %"), ({}, WRITTEN, "38 %")]
)
def test_a_row_of_the_level_sheet_is_kept_with_its_weather_and_state(
    shipped_rulebase: Rulebase, site: Site, last: dict[str, object], how: str, says: str
) -> None:
    found = found_in(shipped_rulebase, site, "A", OUTDOOR, MODE, RECLAIM, LEVEL, last)
    assert [(each.how, each.text, each.was) for each in found] == [(how, says, "")]
    (row,) = kept(shipped_rulebase, SITE, found).subjects["A"].sheets["receiver_level_on_sheet"]
    assert (row.weather_text, row.text) == ("66 F", says)
    assert dict(row.state) == {"condenser_mode": "full", "heat_reclaim": "off"}


def test_a_level_without_its_state_is_no_row(shipped_rulebase: Rulebase, site: Site) -> None:
    assert found_in(shipped_rulebase, site, "A", OUTDOOR, MODE, LEVEL, {}) == []


def test_a_row_that_says_otherwise_is_told_and_gives_way_alone(
    shipped_rulebase: Rulebase, site: Site
) -> None:
    first = found_in(shipped_rulebase, site, "A", OUTDOOR, MODE, RECLAIM, LEVEL, {})
    split = MODE | {"value": "split"}
    first += found_in(shipped_rulebase, site, "A", OUTDOOR, split, RECLAIM, LEVEL, {})
    before = kept(shipped_rulebase, SITE, first)
    same = found_in(shipped_rulebase, before, "A", OUTDOOR, MODE, RECLAIM, LEVEL, {})
    assert same == []
    full = LEVEL | {"text": "55 %", "value": 0.55}
    (other,) = found_in(shipped_rulebase, before, "A", OUTDOOR, MODE, RECLAIM, full, {})
    assert other.was == "38 % at 66 F"
    after = kept(shipped_rulebase, text_of(data_of(SITE, "own.yaml")), [*first, other])
    rows = after.subjects["A"].sheets["receiver_level_on_sheet"]
    assert {(dict(row.state)["condenser_mode"], row.text) for row in rows} == {
        ("split", "38 %"), ("full", "55 %"),
    }  # fmt: skip


def test_a_photo_of_the_plate_is_named_with_what_was_read_there(
    shipped_rulebase: Rulebase, site: Site
) -> None:
    volts = {"quantity": "plate_voltage", "kind": "voltage", "text": "460", "value": 460.0}
    step = Active("p", Step("p", "ask", "x"), Phase("p", "P", "as found", ()), "as found")
    entries = (
        Entry(1, AT, "photo", "p", {"path": "a.jpg", "caption": "plate of AC1"}),
        Entry(2, AT, "answer", "p", volts),
        Entry(3, AT, "photo", "elsewhere", {"path": "b.jpg"}),
    )
    told = JobTells(site, "AC1", shipped_rulebase, "us", "A. Sample")
    (found,) = learned(fold(entries), [step], told)
    assert found.photo == "plate of AC1"
