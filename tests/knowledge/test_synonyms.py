"""What the trade calls things: found by it, asked where several share it, nothing of other kind."""

from __future__ import annotations

import pytest
from shipped_knowledge import shipped_rules
from tiny_rulebase import TINY, WriteRulebase

from expert.author.interview.find_by_words import guess, names_with, quantity_texts
from expert.errors import PackError, ReadingError
from expert.knowledge import judge
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.synonyms import called, holding, meant, names_of
from expert.procedure.search import find_reading
from expert.records.turned_out import cause_called
from expert.report.handbook import render_handbook
from expert.units.measure import format_value

FOUND = {
    "TXV": "expansion_valve_kind", "EEV": "expansion_valve_opening", "EPR": "regulator_opening",
    "TD": "condenser_temperature_difference", "SST": "saturated_suction_temperature",
    "SCT": "saturated_condensing_temperature", "head": "discharge_header_pressure_at_rest",
    "suction": "suction_header_pressure_at_rest", "amps": "motor_current_a",
    "nameplate": "voltage_from_plate", "filter drier": "drier_pressure_drop",
    "case temp": "case_air_displayed", "split": "coil_temperature_difference",
    "DP": "net_oil_pressure", "microns": "vacuum_final",
}  # fmt: skip


@pytest.mark.parametrize(("word", "quantity"), FOUND.items())
def test_a_quantity_is_found_by_what_the_trade_calls_it(word: str, quantity: str) -> None:
    base = shipped_rules()
    found = [each.id for each in holding(word, base.quantities.values())]
    assert quantity in found[:12]
    assert quantity in [name for _, name, _ in names_with(word.lower(), base)]


def test_a_short_abbreviation_is_not_looked_for_inside_words() -> None:
    found = {each.id for each in holding("TD", shipped_rules().quantities.values())}
    assert "outdoor_temperature" not in found


@pytest.mark.parametrize(
    ("word", "cause"),
    [
        ("floodback", "liquid-returning-to-compressors"),
        ("low on gas", "undercharge"),
        ("fractionated", "blend-out-of-balance"),
        ("recirculation", "condenser-air-recirculating"),
        ("plugged filter drier", "drier-restricted"),
    ],
)
def test_a_cause_is_typed_by_what_the_trade_calls_it(word: str, cause: str) -> None:
    assert cause_called(word, shipped_rules().causes).id == cause


def test_of_a_shared_synonym_it_is_asked_which_is_meant() -> None:
    base = shipped_rules()
    with pytest.raises(ReadingError, match="could be"):
        cause_called("epr", base.causes)
    with pytest.raises(ReadingError, match="could be"):
        find_reading("amps 12", base.quantities)
    assert meant("amps", base.quantities).count("' or '") == 3


@pytest.mark.parametrize(
    ("text", "reading"),
    [
        ("suction 45", ("suction_header_pressure_at_rest", "45")),
        ("discharge pressure 215 psig", ("discharge_header_pressure_at_rest", "215 psig")),
        ("case temp 38 F", ("case_air_displayed", "38 F")),
        ("DLT 210", ("discharge_line_temperature", "210")),
    ],
)
def test_a_reading_is_named_in_a_search_by_its_synonym(text: str, reading: tuple[str, str]) -> None:
    found = find_reading(text, shipped_rules().quantities)
    assert found is not None
    assert (found[0].id, found[1]) == reading


@pytest.mark.parametrize("word", ["caps", "hamps", "wheelbase", "suctoin_lamp"])
def test_nothing_of_another_kind_is_suggested(word: str) -> None:
    assert not meant(word, shipped_rules().quantities)


def test_a_mistyped_name_gets_the_right_one() -> None:
    base = shipped_rules()
    assert "'outdoor_temperature'" in meant("outdoor_temprature", base.quantities)
    assert "'discharge_header_pressure_at_rest'" in meant("head", base.quantities)
    assert "cap" not in guess("amsp", quantity_texts(base.quantities.values())).split()


def test_most_of_what_is_read_and_found_has_its_synonyms() -> None:
    base = shipped_rules()
    assert sum(bool(each.also) for each in base.quantities.values()) >= 200
    assert sum(bool(each.also) for each in base.causes.values()) >= 120
    for each in (*base.quantities.values(), *base.causes.values()):
        assert len(set(names_of(each)[2:])) == len(each.also)


@pytest.mark.parametrize(
    ("also", "message"),
    [("lower pressure", "'lower_pressure'"), ("upper-pressure", "already"), ("up, UP", "already")],
)
def test_a_synonym_may_not_hide_the_name_of_another(
    write_rulebase: WriteRulebase, also: str, message: str
) -> None:
    text = TINY.replace("title: upper pressure,", f"title: upper pressure, also: [{also}],")
    with pytest.raises(PackError) as raised:
        load_rulebase(write_rulebase(text))
    (problem,) = raised.value.problems
    assert problem.code == "taken-name"
    assert message in problem.message


def test_a_synonym_may_be_shared(write_rulebase: WriteRulebase) -> None:
    text = TINY.replace("title: upper pressure,", "title: upper pressure, also: [gauge],")
    text = text.replace("title: lower pressure,", "title: lower pressure, also: [gauge],")
    base = load_rulebase(write_rulebase(text))
    found = [each.id for each in called("Gauge", base.quantities.values())]
    assert sorted(found) == ["lower_pressure", "upper_pressure"]


def test_the_handbook_tells_what_the_trade_calls_it() -> None:
    text = render_handbook(shipped_rules())
    assert "Also called: fractionated, fractionation." in text
    assert "Also called: SST, saturated suction" in text


@pytest.mark.parametrize(
    ("name", "typed", "shown"),
    [
        ("days_since_last_addition", "40", "40.0 day"),
        ("vacuum_end", "350", "350 micron"),
        ("vacuum_end", "350 micron", "350 micron"),
        ("clean_up_core_time", "72 h", "3.0 day"),
    ],
)
def test_a_number_is_typed_and_shown_in_the_unit_of_the_trade(
    name: str, typed: str, shown: str
) -> None:
    read = judge.number(typed, shipped_rules().quantities[name], barometer=101325.0, system="us")
    assert format_value(read.kind, read.value) == shown


def test_a_unit_must_be_one_of_its_kind(write_rulebase: WriteRulebase) -> None:
    text = TINY.replace("kind: duration,", "kind: duration, unit: psig,")
    with pytest.raises(PackError, match="psig"):
        load_rulebase(write_rulebase(text))
