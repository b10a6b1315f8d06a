"""What is proposed next: looks before gauges, gauges before anything is opened.

The order is judged from what the quantities ask of a technician, apart from the ranking's code.
"""

from __future__ import annotations

import budget
import pytest
from shipped_knowledge import shipped_cases

from expert.author.scenarios.read import ScenarioRunner
from expert.inference import next_reading
from expert.knowledge.model import Quantity, Rulebase

OPENED = {"venting", "oil-under-pressure", "chemicals-and-acid"}
TOOLS = {"stored-pressure", "electrical", "lockout", "stored-charge", "refrigerant-exposure",
         "carbon-dioxide", "nitrogen-pressure"}  # fmt: skip


def step(quantity: Quantity) -> int:
    if OPENED & set(quantity.cautions):
        return 2
    looked_at = quantity.choices or quantity.spot == "display"
    look = looked_at and not TOOLS & set(quantity.cautions) and quantity.effort <= 10
    return 0 if look else 1


def test_no_gauge_is_proposed_while_a_look_would_speak_on_the_leading_causes(
    shipped_rulebase: Rulebase, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(next_reading, "AT_MOST", 500)
    scenario_runner = ScenarioRunner(shipped_rulebase, "plain")
    tried = 0
    for scenario in shipped_cases()[:: budget.step(14)]:
        evaluation = scenario_runner.evaluate(scenario)
        if not evaluation.findings:
            continue
        steps = [step(each.quantity) for each in evaluation.measure_next]
        assert steps == sorted(steps), scenario.title
        tried += {0, 1} <= set(steps)
    assert tried > 7  # in an ordinary run too


def test_a_face_or_a_frost_pattern_is_a_look_and_an_analysis_is_not(
    shipped_rulebase: Rulebase,
) -> None:
    quantities = shipped_rulebase.quantities
    assert [step(quantities[name]) for name in ("condenser_face", "frost_before")] == [0, 0]
    assert step(quantities["receiver_pressure"]) == 1
    assert step(quantities["refrigerant_identity"]) == 2
