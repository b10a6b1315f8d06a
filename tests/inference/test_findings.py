"""How causes are ranked and which stand under which, on causes written out here."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from generated import MEMORY, QUANTITIES, SCALE, SUBJECT

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Finding, Reading
from expert.knowledge.conditions import Is
from expert.knowledge.model import Cause, Rule, Rulebase
from expert.knowledge.pack_model import PackInfo


def findings(
    evidence: Mapping[str, str],
    leads: Mapping[str, tuple[str, ...]] | None = None,
    urgency: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """The findings where one rule each speaks for a cause with a strength."""
    causes = {
        name: Cause(
            name, name, "x", "circuit", "x", (), (), (urgency or {}).get(name, "energy"), MEMORY,
            leads_to=(leads or {}).get(name, ()),
        )
        for name in evidence
    }  # fmt: skip
    rules = {
        name: Rule(name, (Is("c0", "red"),), f"of {name}", MEMORY, evidence_for={name: strength})
        for name, strength in evidence.items()
    }
    base = Rulebase(PackInfo("x", "0"), QUANTITIES, (), {}, causes, rules, {}, SCALE, {}, {})
    return Evaluator(base, SUBJECT, backend="plain").evaluate([Reading("c0", "red")]).findings


def names(found: tuple[Finding, ...]) -> list[object]:
    return [
        each.cause.id if not each.effects else (each.cause.id, names(each.effects))
        for each in found
    ]


def test_the_more_certain_cause_comes_first() -> None:
    assert names(findings({"a": "weak", "b": "strong"})) == ["b", "a"]


def test_of_two_alike_the_more_urgent_comes_first_and_then_the_alphabet_decides() -> None:
    alike = {"b": "weak", "a": "weak", "c": "weak"}
    assert names(findings(alike, urgency={"c": "safety"})) == ["c", "a", "b"]


def test_an_effect_stands_under_its_cause_even_where_it_is_more_certain() -> None:
    assert names(findings({"a": "moderate", "b": "strong"}, {"a": ("b",)})) == [("a", ["b"])]


def test_an_uncertain_cause_does_not_take_a_more_certain_effect_under_it() -> None:
    assert names(findings({"a": "weak", "b": "strong"}, {"a": ("b",)})) == ["b", "a"]


def test_an_uncertain_cause_takes_an_effect_that_is_no_more_certain_under_it() -> None:
    assert names(findings({"b": "weak", "a": "weak"}, {"b": ("a",)})) == [("b", ["a"])]


def test_an_effect_of_two_causes_stands_under_the_more_certain_one() -> None:
    found = findings({"a": "moderate", "b": "strong", "c": "weak"}, {"a": ("c",), "b": ("c",)})
    assert names(found) == [("b", ["c"]), "a"]


def test_effects_of_effects_stand_under_them() -> None:
    found = findings({"a": "strong", "b": "moderate", "c": "moderate"}, {"a": ("b",), "b": ("c",)})
    assert names(found) == [("a", [("b", ["c"])])]


@pytest.mark.parametrize("first", ["strong", "moderate"])
def test_two_causes_that_lead_to_one_another_are_both_shown(first: str) -> None:
    found = findings({"a": first, "b": "strong"}, {"a": ("b",), "b": ("a",)})
    assert len(found) == 1
    assert len(found[0].effects) == 1


def test_a_cause_that_leads_to_itself_stands_alone() -> None:
    assert names(findings({"a": "strong"}, {"a": ("a",)})) == ["a"]


def test_two_rules_for_one_cause_add_up() -> None:
    rules = {
        name: Rule(name, (Is("c0", "red"),), name, MEMORY, evidence_for={"k": "moderate"})
        for name in ("one", "two")
    }
    cause = Cause("k", "k", "x", "circuit", "x", (), (), "food", MEMORY)
    base = Rulebase(PackInfo("x", "0"), QUANTITIES, (), {}, {"k": cause}, rules, {}, SCALE, {}, {})
    (found,) = Evaluator(base, SUBJECT, backend="plain").evaluate([Reading("c0", "red")]).findings
    assert found.certainty == 0.75
    assert [step.rule.id for step in found.evidence] == ["one", "two"]


def test_nothing_is_said_twice_in_the_chain_of_reasons() -> None:
    rules = {
        name: Rule(name, (Is("c0", "red"),), "because", MEMORY, evidence_for={"k": "moderate"})
        for name in ("one", "two")
    }
    cause = Cause("k", "k", "x", "circuit", "x", (), (), "food", MEMORY)
    base = Rulebase(PackInfo("x", "0"), QUANTITIES, (), {}, {"k": cause}, rules, {}, SCALE, {}, {})
    (found,) = Evaluator(base, SUBJECT, backend="plain").evaluate([Reading("c0", "red")]).findings
    assert found.because == ("Choice c0: red.", "because")
