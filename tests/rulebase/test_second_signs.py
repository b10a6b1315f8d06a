"""A second sign of a rarer fault leads to the look by which the fault is seen."""

from __future__ import annotations

import pytest
from shipped_knowledge import shipped_rules

from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import accept
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE

ORDINARY = {"refrigerant": "R-448A", "application": "low temperature", "defrost": "hot gas"}
BOOSTER = {"refrigerant": "R-744", "application": "low temperature", "defrost": "electric"}
LOOKS = [
    (BOOSTER, {"co2_bypass_opening": "98 %"}, "co2_parallel_compressor"),
    (BOOSTER, {"co2_bypass_opening": "98 %"}, "co2_ejector"),
    (BOOSTER, {"co2_low_temperature_suction": "300 psig"}, "co2_low_temperature_compressors"),
    (ORDINARY, {"gas_on_sound": "hammer"}, "master_check_valves"),
    (ORDINARY, {"variable_speed": "stays at full speed"}, "rack_drive"),
    (ORDINARY, {"compressors_running": "none", "rack_trips": "motor protector"},
     "rack_power_supply"),
    (ORDINARY, {"compressors_running": "none", "rack_power_supply": "all phases there",
                "rack_trips": "none"}, "rack_stop_chain"),
    (ORDINARY, {"rack_controller": "lost its boards", "warm_scope": "one case"},
     "case_controller"),
    (ORDINARY, {"secondary_concentration": "as on its sheet", "warm_scope": "whole rack",
                "suction_deviation": "-9 psi"}, "secondary_pump"),
]  # fmt: skip


@pytest.mark.parametrize(("plant", "read", "look"), LOOKS, ids=[each[2] for each in LOOKS])
def test_the_look_is_asked_for(plant: dict[str, str], read: dict[str, str], look: str) -> None:
    rules = shipped_rules()
    evaluator = Evaluator(rules, Subject("X", "X", "rack", "X", plant), backend="plain")
    given = [accept(rules.quantities[name], text, ATMOSPHERE) for name, text in read.items()]
    asked = [each.quantity.id for each in evaluator.evaluate(given).next_readings(())]
    assert look in asked, asked
