"""A first proposal for a case makes its condition true."""

from __future__ import annotations

from dataclasses import replace

import pytest

from expert.author.interview.suggest_value import names_in, suggest
from expert.errors import Place
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import accept
from expert.knowledge.conditions import Condition, Is
from expert.knowledge.grammar import parse_condition
from expert.knowledge.model import Rulebase
from expert.knowledge.resolve import NUMBER_STATES
from expert.knowledge.site import Subject

STATES = [state for state in NUMBER_STATES if state != "too close to call"]


def condition(text: str) -> Condition:
    return parse_condition(text, Place("x"))


@pytest.mark.parametrize("state", STATES)
def test_what_is_proposed_for_a_state_of_the_shipped_rulebase_is_in_that_state(
    shipped_rulebase: Rulebase, circuit: Subject, state: str
) -> None:
    evaluator = Evaluator(replace(shipped_rulebase, rules={}), circuit, backend="plain")
    edge = {"very low": "very_low", "low": "low", "high": "high", "very high": "very_high"}
    wrong, tried = [], 0
    for name, limit in evaluator.limits.items():
        quantity = shipped_rulebase.quantities[name]
        one_sided = state in edge and getattr(limit, edge[state]) is None
        if one_sided or quantity.given or limit.cannot_judge_when:
            continue
        text = suggest(name, (Is(name, state),), shipped_rulebase, circuit.facts)
        tried += 1
        facts, _ = evaluator.facts([accept(replace(quantity, refuse_below=None, refuse_above=None),
                                           text, 101325.0)])  # fmt: skip
        if facts.holds(Is(name, state)) is not True:
            wrong.append(f"{name}: {text}")
    assert tried > 20
    assert len(wrong) <= tried // 10, wrong


@pytest.mark.parametrize(
    ("text", "name", "wanted"),
    [
        ("case_fans is all stopped", "case_fans", "all stopped"),
        ("case_fans is not running", "case_fans", "some stopped"),
        ("air_is_warm", "air_is_warm", "yes"),
        ("not air_is_warm", "air_is_warm", "no"),
        ("coil_pressure > header_pressure + 3 psi", "coil_pressure", ""),
        ("case_air is known", "case_air", ""),
    ],
)
def test_a_word_or_a_sign_is_proposed_and_nothing_where_nobody_can_tell(
    small_base: Rulebase, text: str, name: str, wanted: str
) -> None:
    assert suggest(name, (condition(text),), small_base, {}) == wanted


def test_nothing_below_nothing_is_proposed(small_base: Rulebase) -> None:
    (limit,) = [each for each in small_base.limits if each.id == "defrost-time"]
    narrow = replace(limit, low=60.0, very_low=None)
    base = replace(small_base, limits=(narrow,))
    assert suggest("defrost_time", (Is("defrost_time", "low"),), base, {}) == "0.5 min"


def test_names_come_once_in_their_order() -> None:
    texts = ("b is low", "c > a + 3 psi", "s", "a is high")
    assert names_in(tuple(map(condition, texts))) == ("b", "c", "a", "s")
