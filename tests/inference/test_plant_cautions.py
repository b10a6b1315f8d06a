"""What a finding advises comes with the cautions of the plant for that work."""

from __future__ import annotations

import pytest

from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Finding
from expert.inference.show import finding_json, finding_lines
from expert.inference.subject_file import accept
from expert.knowledge.model import Rulebase
from expert.knowledge.plants import cautions_of, cautions_on
from expert.knowledge.site import Subject
from expert.units.kinds import ATMOSPHERE

CARBON_DIOXIDE, FLAMMABLE = "carbon-dioxide", "flammable-refrigerant"
PLANTS = {"R-744": CARBON_DIOXIDE, "R-290": FLAMMABLE, "R-454C": FLAMMABLE}
OPENS = {"open-circuit", "add-refrigerant", "recover-refrigerant", "replace-charge",
         "replace-compressor"}  # fmt: skip


def circuit(refrigerant: str) -> Subject:
    return Subject("A1", "Doors", "circuit", "A", {"refrigerant": refrigerant})


def plugged_screen(rules: Rulebase, refrigerant: str) -> Finding:
    reading = accept(rules.quantities["valve_screen"], "dirty", ATMOSPHERE)
    found = Evaluator(rules, circuit(refrigerant), backend="plain").evaluate([reading]).findings
    return next(each for each in found if each.cause.id == "expansion-valve-screen-plugged")


@pytest.mark.parametrize("refrigerant", PLANTS)
def test_a_finding_lists_the_caution_of_its_plant_before_what_to_do(
    refrigerant: str, shipped_rulebase: Rulebase
) -> None:
    finding = plugged_screen(shipped_rulebase, refrigerant)
    assert PLANTS[refrigerant] not in finding.cause.cautions
    caution = shipped_rulebase.cautions[PLANTS[refrigerant]]
    lines = list(finding_lines(finding, shipped_rulebase))
    said = next(n for n, each in enumerate(lines) if caution.title.lower() in each)
    assert caution.say[0] in lines[said]
    assert said < next(n for n, each in enumerate(lines) if each.strip().startswith("Do:"))
    told = finding_json(finding, shipped_rulebase)["cautions"]
    assert {"title": caution.title, "say": list(caution.say)} in told  # type: ignore[operator]


def test_another_plant_gets_no_more_than_the_cause_has(shipped_rulebase: Rulebase) -> None:
    finding = plugged_screen(shipped_rulebase, "R-449A")
    assert finding.cautions == finding.cause.cautions


@pytest.mark.parametrize("refrigerant", PLANTS)
def test_no_remedy_that_opens_or_charges_goes_without_it(
    refrigerant: str, shipped_rulebase: Rulebase
) -> None:
    on_plant = cautions_on(shipped_rulebase, circuit(refrigerant))
    opening = [
        cause
        for cause in shipped_rulebase.causes.values()
        if OPENS & {each.action for each in cause.remedy}
    ]
    assert len(opening) > 40
    for cause in opening:
        assert PLANTS[refrigerant] in cautions_of(cause, on_plant, shipped_rulebase), cause.id


def test_what_only_takes_a_look_goes_without_it(shipped_rulebase: Rulebase) -> None:
    on_plant = cautions_on(shipped_rulebase, circuit("R-744"))
    free = [
        cause.id
        for cause in shipped_rulebase.causes.values()
        if not (cause.cautions or any(each.action for each in cause.remedy))
        and cautions_of(cause, on_plant, shipped_rulebase)
    ]
    assert free == []
