"""What is foreign to a kind of plant is never asked there, and what is not known is not assumed."""

from __future__ import annotations

import re

import pytest
from budget import examples, step
from shipped_knowledge import shipped_rules

from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import accept
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE

HOT_GAS = r"hot_gas|suction_stop|^defrost_differential|gas_on_|bypass_line|differential_reg"
HEATERS = r"heater_(cur|vol|saf|ele)|heaters_in|defrost_contactor"
CARBON_DIOXIDE = r"^co2_|carbon_dioxide"
RECEIVER = r"receiver_level|receiver_pressure|sight_glass|condenser_(fans|face|mode)|drop_leg"
# What a technician would shake the head at, by kind of plant (an oracle of its own).
KINDS = {
    "R-449A off cycle": f"{HOT_GAS}|{HEATERS}|{CARBON_DIOXIDE}|^drip_|fans_in_defrost",
    "R-449A hot gas": f"{HEATERS}|{CARBON_DIOXIDE}|off_time",
    "R-449A electric": f"{HOT_GAS}|{CARBON_DIOXIDE}|off_time",
    "R-744 electric": f"{HOT_GAS}|{RECEIVER}|off_time",
    "R-744 off cycle": f"{HOT_GAS}|{HEATERS}|{RECEIVER}",
}
COMPLAINTS = tuple(shipped_rules().quantities["complaint"].choices)
ROUNDS = examples(80) // 10  # of five readings each


def evaluator(kind: str, subject: str) -> Evaluator:
    refrigerant, _, defrost = kind.partition(" ")
    application = "medium temperature" if defrost == "off cycle" else "low temperature"
    facts = {"application": application, "defrost": defrost, "refrigerant": refrigerant}
    known = {name: value for name, value in facts.items() if value}
    return Evaluator(shipped_rules(), Subject("X", "X", subject, "R", known), backend="plain")


def asked(kind: str, complaint: str, subject: str) -> set[str]:
    """All that would be asked one after the other where nothing can be had."""
    reading = accept(shipped_rules().quantities["complaint"], complaint, ATMOSPHERE)
    evaluation = evaluator(kind, subject).evaluate([reading])
    told: set[str] = set()
    for _ in range(ROUNDS):
        told |= {each.quantity.id for each in evaluation.rank(frozenset(told))}
    return told


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_foreign_is_asked(kind: str) -> None:
    foreign = {}
    for number, complaint in enumerate(COMPLAINTS[:: step(12)]):
        names = asked(kind, complaint, ("rack", "circuit")[number % 2])
        assert names
        foreign[complaint] = {name for name in names if re.search(KINDS[kind], name)}
    assert {complaint: names for complaint, names in foreign.items() if names} == {}


@pytest.mark.parametrize("kind", KINDS)
def test_every_reading_that_is_foreign_is_known_to_be(kind: str) -> None:
    rules = shipped_rules()
    could = {name for name, each in rules.quantities.items() if not each.given}
    could -= {name for name in could if rules.quantities[name].derivation is not None}
    foreign = evaluator(kind, "circuit").foreign
    assert {name for name in could - foreign if re.search(KINDS[kind], name)} == set()


def test_where_the_plant_is_not_known_nothing_is_left_out() -> None:
    assert evaluator(" ", "rack").foreign == frozenset()


def not_judged(refrigerant: str, *texts: tuple[str, str]) -> set[str]:
    facts = {"refrigerant": refrigerant} if refrigerant else {}
    held = Evaluator(shipped_rules(), Subject("X", "X", "rack", "", facts), backend="plain")
    readings = [accept(held.rulebase.quantities[name], told, ATMOSPHERE) for name, told in texts]
    return {each.quantity for each in held.evaluate(readings).cannot_judge}


def test_what_hangs_on_something_foreign_is_not_told_as_not_judged() -> None:
    outdoors, gas_cooler = "outdoor_temperature", "co2_gas_cooler_outlet_temperature"
    approach = "co2_gas_cooler_approach"
    told = not_judged("R-448A", (outdoors, "70 F"))
    assert approach not in told and "condenser_temperature_difference" in told
    assert approach in not_judged("R-744", (outdoors, "70 F"))
    assert approach in not_judged("", (outdoors, "70 F"))  # not known, and not assumed
    assert approach in not_judged("R-448A", (gas_cooler, "75 F"))  # read all the same
