"""What rules and gates read, some checklist asks: no rule waits for what nobody is ever asked."""

from __future__ import annotations

from expert.knowledge.conditions import quantities_anywhere
from expert.knowledge.model import Rulebase
from expert.procedure.checklist import MEASURING, Checklist

# What no checklist has to ask: the site file says it, or a log of weeks is read for it.
GIVEN = ("site", "log")


def _asked(checklist: Checklist) -> set[str]:
    """The quantities that the steps of a checklist ask."""
    asked = set()
    for phase in checklist.phases:
        asked |= {phase.repeat.ask} if phase.repeat else set()
        for step in phase.steps:
            if step.type in MEASURING:
                asked |= {*step.quantities, step.until}
    return asked


def test_each_quantity_that_is_read_is_asked_by_some_checklist(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    asked = set().union(*(_asked(each) for each in checklists.values()))
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


def test_a_search_hands_on_to_a_checklist_that_reads_what_proves_its_cause(
    shipped_rulebase: Rulebase, checklists: dict[str, Checklist]
) -> None:
    (search,) = (
        step
        for checklist in checklists.values()
        for phase in checklist.phases
        for step in phase.steps
        if step.hands_over
    )
    lost = set()
    for cause in shipped_rulebase.causes.values():
        proofs = [
            _taken(
                {name for each in rule.when for name in quantities_anywhere(each)}, shipped_rulebase
            )
            for rule in shipped_rulebase.rules.values()
            if cause.id in rule.evidence_for
        ]
        handed = search.hands_over.get(cause.id) or search.hands_over[cause.system]
        asked = set().union(*(_asked(checklists[each.id]) for each in handed))
        if any(proofs) and not any(proof & asked for proof in proofs) and cause.system != "log":
            lost.add(cause.id)
    assert lost == set()


def _taken(names: set[str], rulebase: Rulebase) -> set[str]:
    """The readings that quantities rest on."""
    found = set()
    for name in names:
        derivation = rulebase.quantities[name].derivation
        below = {each.quantity for each in derivation.inputs.values()} if derivation else set()
        found |= _taken(below, rulebase) if derivation else {name}
    return found
