"""`rackwalk quantities`: the dictionary, with units, limits and where each number comes from."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tiny_rulebase import TINY, WriteRulebase

from expert.knowledge.model import Rulebase

from .small_job import Command, Printed


@pytest.fixture
def quantities(command: Command, write_rulebase: WriteRulebase) -> Any:
    folder = str(write_rulebase(TINY))

    def run(*words: str) -> Printed:
        return command("quantities", "--rulebase", folder, *words)

    return run


def document(done: Printed) -> dict[str, dict[str, Any]]:
    assert done.code == 0, done.err
    return {each["id"]: each for each in json.loads(done.out)}


def test_every_quantity_is_listed_in_the_order_of_the_dictionary(
    quantities: Any, tiny: Rulebase
) -> None:
    assert list(document(quantities("--json"))) == list(tiny.quantities)


def test_a_number_is_listed_with_unit_and_bands_as_number_objects(quantities: Any) -> None:
    upper = document(quantities("--json"))["upper_pressure"]
    assert upper["unit"] == "psig"
    assert upper["accuracy"] == {"value": 1.0, "unit": "psi"}
    assert upper["refuse_above"] == {"value": 600.0, "unit": "psig"}
    assert upper["unusual_below"] == {"value": 80.0, "unit": "psig"}
    assert "choices" not in upper


def test_the_units_are_those_asked_for(quantities: Any) -> None:
    upper = document(quantities("--json", "--units", "si"))["upper_pressure"]
    assert upper["unit"] == "bar"
    assert upper["accuracy"]["unit"] == "bar"
    line = document(quantities("--json", "--units", "si"))["line_temperature"]
    assert line["accuracy"] == {"value": pytest.approx(0.556, abs=1e-3), "unit": "K"}


def test_a_choice_is_listed_with_its_phrases_and_no_unit(quantities: Any) -> None:
    valve = document(quantities("--json"))["valve"]
    assert valve["choices"] == ["open", "shut", "half open"]
    assert "unit" not in valve


def test_a_derived_value_is_listed_with_what_it_is_computed_from(quantities: Any) -> None:
    differential = document(quantities("--json"))["differential"]
    assert differential["function"] == "pressure_difference"
    assert differential["inputs"] == {"upper": "upper_pressure", "lower": "lower_pressure"}


def test_every_limit_is_listed_with_its_source_label(quantities: Any) -> None:
    told = document(quantities("--json"))
    (limit,) = told["differential"]["limits"]
    assert limit["source"] == "common practice"
    assert limit["low"] == {"value": 15.0, "unit": "psi"}
    assert limit["very_high"] == {"value": 30.0, "unit": "psi"}
    (bounded,) = told["clearing_time"]["limits"]
    assert bounded["applies"] == {"application": ["low temperature"]}
    assert "low" not in bounded


def test_the_text_names_common_practice_as_such(quantities: Any) -> None:
    out = quantities().out
    assert "    normal: 15.0 to 20.0 psi (common practice)" in out
    assert "    normal: at most 18.0 min (common practice); low temperature" in out
    assert "    normal: at least 20.0 F (from memory)" in out


def test_a_word_narrows_the_list_by_name_or_title(quantities: Any) -> None:
    assert list(document(quantities("--json", "pressure"))) == ["lower_pressure", "upper_pressure"]
    assert list(document(quantities("--json", "RISE OF"))) == ["rise"]


def test_a_word_that_fits_nothing_is_answered_with_the_nearest_name(quantities: Any) -> None:
    done = quantities("clearing_tme")
    assert done.code == 0
    assert "No quantity has 'clearing_tme' in its name or title." in done.out
    assert "Did you mean 'clearing_time'?" in done.out
    assert json.loads(quantities("--json", "clearing_tme").out) == []


def test_the_shipped_limits_of_common_practice_are_listed_as_such(
    command: Command, shipped_rulebase: Rulebase
) -> None:
    told = document(command("quantities", "--json"))
    listed = {
        limit["id"]: limit["source"] for each in told.values() for limit in each.get("limits", ())
    }
    assert listed == {limit.id: str(limit.source) for limit in shipped_rulebase.limits}
    practice = [i for i, source in listed.items() if source.startswith("common practice")]
    labelled = [x.id for x in shipped_rulebase.limits if x.source.label == "common practice"]
    assert sorted(practice) == sorted(labelled)
    assert "defrost-differential-low-temperature" in practice
