"""What rules and gates read, some checklist asks: no rule waits for what nobody is ever asked."""

from __future__ import annotations

from expert.knowledge.conditions import quantities_anywhere
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import MEASURING, Checklist

# What no checklist has to ask: the site file says it, or a log of weeks is read for it.
GIVEN = ("site", "log")


def test_each_quantity_that_is_read_is_asked_by_some_checklist(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    asked = set()
    for checklist in checklists.values():
        for phase in checklist.phases:
            asked |= {phase.repeat.ask} if phase.repeat else set()
            for step in phase.steps:
                if step.type in MEASURING:
                    asked |= {*step.quantities, step.until}
    conditions = [
        condition
        for rule in shipped_rulebase.rules.values()
        for condition in (*rule.when, *rule.unless)
    ]
    conditions += [each for gate in shipped_rulebase.gates.values() for each in gate.needs]
    waiting = {name for each in conditions for name in quantities_anywhere(each)}
    done: set[str] = set()
    never = set()
    while waiting:
        name = waiting.pop()
        done.add(name)
        quantity = shipped_rulebase.quantities[name]
        if quantity.derivation is not None:
            inputs = {each.quantity for each in quantity.derivation.inputs.values()}
            waiting |= inputs - done
        elif name not in asked and quantity.given not in GIVEN:
            never.add(name)
    assert len(done) > 400
    assert never == set()
