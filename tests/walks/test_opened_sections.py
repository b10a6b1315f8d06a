"""What is opened is first known to be empty, and is not given back to the rack with air in it."""

from __future__ import annotations

import pytest

from expert.procedure.checklist import Checklist, Step

Checklists = dict[str, Checklist]
# What they open holds nitrogen or is pulled to a vacuum, and was emptied by the list before.
AFTER_RECOVERY = ("nitrogen-test", "evacuation")


def steps_in_order(checklist: Checklist) -> list[Step]:
    return [step for phase in checklist.all_phases for step in phase.steps]


def test_nothing_is_opened_before_it_is_known_to_be_empty(checklists: Checklists) -> None:
    opening = 0
    for checklist in checklists.values():
        if checklist.id in AFTER_RECOVERY:
            continue
        stopped = False
        for step in steps_in_order(checklist):
            stopped = stopped or (
                step.type == "stop"
                and [str(each) for each in step.passed] == ["opening_section is isolated and empty"]
                and step.otherwise != "go on"
            )
            if step.type in ("adjust", "restore") and "open-circuit" in step.does:
                opening += 1
                assert stopped, (checklist.id, step.id)
    assert opening > 3


def test_each_list_whose_repair_may_open_the_circuit_has_that_stop(
    checklists: Checklists,
) -> None:
    asked = {
        checklist.id
        for checklist in checklists.values()
        for phase in checklist.phases  # not those of a list that it calls
        if any("repair_opened_the_circuit" in step.quantities for step in phase.steps)
    }
    assert asked >= {"warm-case-triage", "oil-system", "suction-filter-and-line-drop"}
    for name in asked:
        stop = checklists[name].step("do-not-open")
        assert stop is not None and stop.type == "stop", name
        assert [str(each) for each in stop.passed] == ["opening_section is isolated and empty"]


@pytest.mark.parametrize(
    ("checklist", "ids"),
    [
        ("leak-inspection-and-repair", ("recover-section", "do-not-open", "one-repair", "count-in",
         "nitrogen-test-of-the-section", "evacuation-of-the-section", "section-open",
         "left-level")),
        ("suction-filter-and-line-drop", ("empty-before-opening", "do-not-open", "one-thing",
         "shell-open", "left-filter-in")),
        # the condenser is open again, and its compressors run, before anything else is changed
        ("condenser-and-head-pressure-warm", ("shut-condenser-in", "condenser-open",
         "compressors-back", "open-up", "one-thing")),
    ],
)  # fmt: skip
def test_what_was_opened_comes_back_in_this_order(
    checklist: str, ids: tuple[str, ...], checklists: Checklists
) -> None:
    places = [step.id for step in steps_in_order(checklists[checklist])]
    found = [places.index(each) for each in ids]
    assert found == sorted(found)


def test_a_defrost_that_was_ended_is_left_and_not_gone_on_with(checklists: Checklists) -> None:
    before_gas = ("end-before-gas", "end-it-now")
    for checklist, names in (
        ("hot-gas-defrost-checkout", ("fans-first", "fans-first-alone", *before_gas)),
        ("defrost-differential-setting", before_gas),
    ):
        for name in names:
            stop = checklists[checklist].step(name)
            assert stop is not None and stop.otherwise == "leave the checklist", name


def test_no_gas_comes_on_before_the_suction_stop_is_looked_at(checklists: Checklists) -> None:
    for name in ("hot-gas-defrost-checkout", "defrost-differential-setting"):
        places = [step.id for step in steps_in_order(checklists[name])]
        gas = [places.index(each) for each in ("suction-stop-before-gas", "end-before-gas",
               "clock-defrost", "hot-gas-valve", "suction-stop", "end-it-now")]  # fmt: skip
        assert gas == sorted(gas), name
