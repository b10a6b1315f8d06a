"""A lead finds what he means by the words of the trade, and is asked nothing foreign to it."""

from __future__ import annotations

import pytest

from expert.author.interview.ask import Asker
from expert.author.interview.draft import Draft
from expert.author.interview.find_by_words import cause_texts, guess, names_with, search
from expert.author.interview.interview import Interview
from expert.author.interview.told_apart import told_apart
from expert.knowledge.model import Rulebase

from .person import Author


def test_what_was_found_is_found_by_words_and_by_misspelt_ones(small_base: Rulebase) -> None:
    assert names_with("fans case", small_base)[0][1] == "case_fans"
    texts = cause_texts(small_base.causes.values())
    assert guess("motr dead", texts) == "motor dead"
    assert search(guess("motr", texts), texts) == ["fan-motor-dead"]
    assert guess("motor", texts) == ""
    assert search("nothing of the kind", {"a": "x y"}) == []


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("head", {"discharge_header_pressure_at_rest"}),
        ("TD", {"coil_temperature_difference", "condenser_temperature_difference"}),
        ("TXV", {"expansion_valve_kind"}),
        ("amps", {f"{of}_current_{phase}" for of in ("motor", "heater") for phase in "abc"}),
    ],
)
def test_a_word_of_the_trade_finds_first_what_is_called_so(
    shipped_rulebase: Rulebase, typed: str, first: set[str]
) -> None:
    person = Author(f"{typed}\n")
    interview = Interview(
        Asker(person.read, person.said.append), shipped_rulebase, {}, lambda: None
    )
    with pytest.raises(KeyboardInterrupt):
        interview.run()
    listed = [line.rpartition("(")[2].rstrip(")") for line in person.said if line.endswith(")")]
    assert set(listed[: len(first)]) == first
    assert not [name for name in listed if "cap" in name or "ports" in name]


@pytest.mark.parametrize(
    ("names", "asked_for"),
    [
        (["condenser_face"], set()),  # neither means anything at a condenser's face
        (["condenser_temperature_difference"], {"application"}),  # its limits differ by it
        (["superheat_swing"], {"application", "defrost"}),  # read at a circuit
    ],
)
def test_application_and_defrost_are_asked_where_they_make_a_difference(
    shipped_rulebase: Rulebase, names: list[str], asked_for: set[str]
) -> None:
    assert told_apart(names, shipped_rulebase) & {"application", "defrost"} == asked_for


def test_a_rule_on_the_condenser_is_asked_for_without_foreign_questions(
    shipped_rulebase: Rulebase,
) -> None:
    draft: Draft = {}
    person = Author("condenser_face is dirty\n\n\nnoncondensable\n")
    interview = Interview(
        Asker(person.read, person.said.append), shipped_rulebase, draft, lambda: None
    )
    with pytest.raises(KeyboardInterrupt):
        interview.run()
    assert "applies" in draft["done"]  # type: ignore[operator]
    assert not {"For which temperature?", "For which defrost?"} & set(person.said)
