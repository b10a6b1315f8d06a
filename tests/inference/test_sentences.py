"""How facts, limits and conditions are told to a person."""

from __future__ import annotations

import pytest
from tiny_rulebase import LoadTiny

from expert.errors import Place
from expert.inference.evaluate import Evaluator
from expert.inference.sentences import Speaker, band_text, first_up, limit_text, value_text
from expert.inference.subject_file import accept
from expert.knowledge.conditions import Condition, Group
from expert.knowledge.grammar import parse_condition
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE, Kind
from expert.units.measure import Measure

PSI = 6894.757293168
TOLD = {"upper_pressure": "198 psig", "lower_pressure": "190 psig", "valve": "open"}


def speaker(base: Rulebase, subject: Subject, system: str = "us", **told: str) -> Speaker:
    evaluator = Evaluator(base, subject, backend="plain")
    readings = [accept(base.quantities[n], text, ATMOSPHERE) for n, text in told.items()]
    facts, _ = evaluator.facts(readings)
    return Speaker(base, facts.known, evaluator.limits, system)


def condition(text: str) -> Condition:
    return parse_condition(text, Place(""))


@pytest.mark.parametrize(
    ("system", "text"),
    [
        ("us", "8.0 psi +/- 1.4"),
        ("si", "0.55 bar +/- 0.10"),
        ("both", "8.0 psi +/- 1.4 (0.55 bar +/- 0.10)"),
    ],
)
def test_a_value_is_told_in_one_system_or_in_both(system: str, text: str) -> None:
    assert value_text(Measure(Kind.PRESSURE_DIFFERENCE, 8 * PSI, 1.4 * PSI), system) == text


def test_a_word_is_told_as_it_is() -> None:
    assert value_text("half open", "both") == "half open"


@pytest.mark.parametrize(
    ("name", "system", "text"),
    [
        ("differential", "us", "15.0 to 20.0 psi"),
        ("differential", "si", "1.03 to 1.38 bar"),
        ("differential", "both", "15.0 to 20.0 psi (1.03 to 1.38 bar)"),
        ("clearing_time", "both", "at most 18.0 min"),
        ("rise", "us", "at least 20.0 F"),
        ("rise", "si", "at least 11.1 K"),
    ],
)
def test_a_limit_is_told_with_its_unit_once(
    tiny: Rulebase, name: str, system: str, text: str
) -> None:
    limit = next(limit for limit in tiny.limits if limit.quantity == name)
    quantity = tiny.quantities[limit.quantity]
    assert band_text(limit, quantity, system) == text
    assert limit_text(limit, quantity, system) == f"{text} ({limit.source})"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("differential is low", "differential is low"),
        ("valve is not open", "valve is not open"),
        ("slow", "the coil clears slowly"),
        ("not slow", "it is not so that the coil clears slowly"),
        ("upper_pressure > lower_pressure + 3 psi",
         "upper pressure is above lower pressure plus 3 psi"),
        ("upper_pressure - lower_pressure <= 3 psi",
         "upper pressure minus lower pressure is at or below 3 psi"),
    ],
)  # fmt: skip
def test_a_condition_is_told_with_titles_and_words(
    tiny: Rulebase, circuit: Subject, text: str, told: str
) -> None:
    assert speaker(tiny, circuit).condition(condition(text)) == told


@pytest.mark.parametrize(
    ("at_least", "told"),
    [
        (1, "valve is open or the coil clears slowly or rise of the line is low"),
        (2, "at least 2 of: valve is open; the coil clears slowly; rise of the line is low"),
        (3, "valve is open and the coil clears slowly and rise of the line is low"),
    ],
)
def test_a_group_is_told_with_its_joint(
    tiny: Rulebase, circuit: Subject, at_least: int, told: str
) -> None:
    members = tuple(condition(text) for text in ("valve is open", "slow", "rise is low"))
    assert speaker(tiny, circuit).condition(Group(at_least, members)) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("valve is open", "Valve: open."),
        ("valve is not shut", "Valve: open (not shut)."),
        ("valve is known", "Valve: open."),
        ("clearing_time is not known", "Clearing time: not known."),
        ("upper_pressure > lower_pressure + 3 psi",
         "Upper pressure (198.0 psig +/- 1.0) is above lower pressure (190.0 psig +/- 1.0) "
         "plus 3 psi."),
        ("differential is not normal",
         "Differential 8.0 psi +/- 1.4, from upper pressure 198.0 psig +/- 1.0 and lower pressure "
         "190.0 psig +/- 1.0, is not normal; normal here is 15.0 to 20.0 psi (common practice)."),
    ],
)  # fmt: skip
def test_a_fact_is_told_with_the_values_it_rests_on(
    tiny: Rulebase, circuit: Subject, text: str, told: str
) -> None:
    assert speaker(tiny, circuit, **TOLD).fact(condition(text)) == told


@pytest.mark.parametrize(
    ("system", "told"),
    [
        ("us", "upper pressure is above lower pressure plus 3 psi"),
        ("si", "upper pressure is above lower pressure plus 0.21 bar"),
        ("both", "upper pressure is above lower pressure plus 3 psi (0.21 bar)"),
    ],
)
def test_a_measure_of_a_rule_is_told_in_the_system_that_was_asked_for(
    load_tiny: LoadTiny, circuit: Subject, system: str, told: str
) -> None:
    base = load_tiny("[clearing_time is high]", "[upper_pressure > lower_pressure + 3 psi]")
    (compared,) = base.rules["slow-by-the-clock"].when
    assert speaker(base, circuit, system).condition(compared) == told


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("every circuit: [differential is low]", "every circuit: differential is low"),
        ("most circuits: [differential is low]", "most circuits: differential is low"),
        ("at least 2 cases: [differential is low]", "at least 2 cases: differential is low"),
        ("as found: [differential is low]", "as found: differential is low"),
    ],
)
def test_conditions_on_other_subjects_and_stages_are_told_with_whose_they_are(
    load_tiny: LoadTiny, circuit: Subject, text: str, told: str
) -> None:
    base = load_tiny("    when: [clearing_time is high]", f"    when:\n      - {text}")
    (condition,) = base.rules["slow-by-the-clock"].when
    assert speaker(base, circuit).condition(condition) == told


def test_a_value_taken_from_a_series_is_told_as_what_was_taken(
    load_tiny: LoadTiny, circuit: Subject
) -> None:
    base = load_tiny()
    evaluator = Evaluator(base, circuit, backend="plain")
    quantity = base.quantities["line_temperature"]
    readings = [accept(quantity, text, ATMOSPHERE) for text in ("10 F", "22 F", "16 F")]
    facts, _ = evaluator.facts(readings)
    told = Speaker(base, facts.known, evaluator.limits, "us").fact(condition("rise is low"))
    assert "from highest line temperature 22.0 F" in told
    assert "first line temperature 10.0 F" in told


def test_a_sentence_begins_with_a_capital_letter_and_keeps_the_rest() -> None:
    assert first_up("hot-gas Header") == "Hot-gas Header"
    assert first_up("") == ""
