"""A device that a plant has not is an answer like any other, and no rule reads it as a fault."""

from __future__ import annotations

import pytest
from shipped_knowledge import shipped_rules

from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import accept
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE

NONE = "none fitted"
PLANTS = {
    "hot gas": {"application": "low temperature", "refrigerant": "R-449A"},
    "off cycle": {"application": "medium temperature", "refrigerant": "R-449A"},
    "electric": {"application": "low temperature", "refrigerant": "R-744"},
}
MAY_LACK = {
    "master_hot_gas_solenoid", "liquid_solenoid", "regulator_kind", "regulator_movement",
    "differential_regulator_place", "differential_regulator_coil", "variable_speed", "rack_drive",
    "phase_monitor", "subcooler", "sight_glass", "moisture_indicator", "king_valve",
    "oil_level_regulator", "expansion_valve_bulb", "case_sight_glass", "unloader",
    "suction_stop", "suction_stop_before_gas", "fans_in_cooling", "fans_in_defrost",
    "fans_in_off_time", "discharge_grille", "return_grille", "case_sensor_place",
    "rack_controller", "head_control", "oil_levels",
}  # fmt: skip


def with_none_fitted() -> list[str]:
    return [name for name, each in shipped_rules().quantities.items() if NONE in each.choices]


def test_what_a_plant_may_lack_can_be_answered_so() -> None:
    assert set(with_none_fitted()) >= MAY_LACK


@pytest.mark.parametrize("defrost", PLANTS)
def test_none_fitted_alone_finds_nothing(defrost: str) -> None:
    rules = shipped_rules()
    subject = Subject("X", "X", "circuit", "R", {"defrost": defrost, **PLANTS[defrost]})
    evaluator = Evaluator(rules, subject, backend="plain")
    found = {}
    for name in with_none_fitted():
        evaluation = evaluator.evaluate([accept(rules.quantities[name], NONE, ATMOSPHERE)])
        found[name] = [each.cause.id for each in evaluation.findings]
    assert {name: causes for name, causes in found.items() if causes} == {}


def test_no_rule_speaks_for_a_cause_because_something_is_not_fitted() -> None:
    guilty = [
        rule.id
        for rule in shipped_rules().rules.values()
        if rule.evidence_for and any(f"is {NONE}" in str(each) for each in rule.when)
    ]
    assert guilty == []
