"""Rules are held against the influences; the shipped ones agree or say why not."""

from __future__ import annotations

from dataclasses import replace

from expert.author.analysis.against_influences import disagreements
from expert.knowledge.model import Rulebase


def names(rulebase: Rulebase) -> set[str]:
    return {each.name for each in disagreements(rulebase)}


def test_what_is_shipped_agrees_or_says_why(shipped_rulebase: Rulebase) -> None:
    explained = {each.what for each in shipped_rulebase.explained if each.section == "analysis"}
    left = {name for name in names(shipped_rulebase) if name.split(" / ")[0] not in {
        each.removeprefix("influence ") for each in explained}}  # fmt: skip
    assert left == set()


def test_a_cause_that_moves_the_state_the_other_way_is_told(shipped_rulebase: Rulebase) -> None:
    """Turned round, the arrow of the charge fights the rules that go by the level."""
    turned = {
        name: replace(arrow, sense=-arrow.sense) if arrow.id == "charge-fills-receiver" else arrow
        for name, arrow in shipped_rulebase.influences.items()
    }
    told = names(replace(shipped_rulebase, influences=turned)) - names(shipped_rulebase)
    assert any("undercharge / receiver_level" in name for name in told), told


def test_a_cause_that_no_rule_finds_by_what_it_brings_is_told(shipped_rulebase: Rulebase) -> None:
    """A dirty condenser that acted on the charge would not be found by any of its rules."""
    causes = dict(shipped_rulebase.causes)
    causes["dirty-condenser"] = replace(causes["dirty-condenser"], acts_on={"gas_flow": -1})
    told = names(replace(shipped_rulebase, causes=causes)) - names(shipped_rulebase)
    assert "dirty-condenser" in told
