"""What comes before what in the shipped checklists, and what a remedy that opens must carry."""

from __future__ import annotations

import re

import pytest
import yaml
from walked_job import DEMO

from expert.errors import ReadingError
from expert.inference.truth import limit_for
from expert.knowledge import judge
from expert.knowledge.load_site import load_site
from expert.knowledge.model import Rulebase
from expert.knowledge.plants import suited
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.checklist import Checklist, Step
from expert.procedure.fitting import why_not
from expert.procedure.hazards import fits
from expert.units.measure import Measure

Checklists = dict[str, Checklist]


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return load_site(DEMO / "site.yaml", shipped_rulebase)


def steps_of(checklist: Checklist, phase: str = "") -> list[Step]:
    return [
        step for each in checklist.phases if phase in ("", each.id) for step in each.steps
    ]  # fmt: skip


def in_order(checklist: Checklist, *ids: str, phase: str = "") -> bool:
    places = [step.id for step in steps_of(checklist, phase)]
    return [places.index(each) for each in ids] == sorted(places.index(each) for each in ids)


def cautions_above(checklist: Checklist, step_id: str) -> set[str]:
    found: set[str] = set()
    for step in steps_of(checklist):
        if step.id == step_id:
            return found
        if step.type == "caution":
            found.add(step.text)
    raise AssertionError(step_id)


@pytest.mark.parametrize(
    ("checklist", "ids"),
    [
        # the suction stop is proven shut before there is gas
        ("hot-gas-defrost-checkout", ("liquid-solenoid", "fans-in-defrost",
         "suction-stop-before-gas", "end-before-gas", "clock-defrost", "hot-gas-valve",
         "master-hot-gas-solenoid")),
        ("hot-gas-defrost-checkout", ("left-suction-stop-before-gas", "left-end-before-gas",
         "clock-left-defrost")),
        # the currents are read again with the lock off and the electrical caution before
        ("compressor-check", ("roll-the-leads", "machine-lock-off", "electrical-after-the-lock",
         "unbalance-follows")),
        # compressors stop before their condenser is shut in, and start after it is open
        ("condenser-and-head-pressure-warm", ("food-safety-before-stopping",
         "stop-compressors-first", "shut-condenser-in", "condenser-open", "compressors-back")),
        ("suction-set-point-worksheet", ("compare-probes", "fit-here", "circuit-pressure-before",
         "off-here", "fit-probes")),
        # what is dead work is no part of the defrost's time
        ("electric-defrost-checkout", ("clock-defrost", "lock-off", "defrost-again",
         "defrost-time")),
        # opened first, then counted
        ("nitrogen-test", ("hold-open", "section-valves", "open-them-first")),
        ("evacuation", ("hold-open", "section-valves", "open-them-first")),
        ("defrost-differential-setting", ("hold-to-full-time", "clock-defrost", "quarter-turn",
         "own-end-back")),
        ("receiver-level-and-charge", ("hold-fans-off", "head-raised", "fans-automatic")),
        ("rack-down-triage", ("rack-trips", "phase-monitor", "control-supply", "fit-probes",
         "one-thing")),
    ],
)  # fmt: skip
def test_one_thing_comes_after_the_other(
    checklist: str, ids: tuple[str, ...], checklists: Checklists
) -> None:
    ordered = sorted(ids) if checklist == "rack-down-triage" else ids
    found = checklists[checklist]
    if checklist == "rack-down-triage":  # looks in any order, all before gauges and the one change
        places = [step.id for step in steps_of(found)]
        assert all(places.index(each) < places.index("fit-probes") for each in ids[:3])
        assert places.index("fit-probes") < places.index("one-thing"), ordered
        return
    assert in_order(found, *ids)


def test_gas_is_stopped_unless_the_suction_stop_is_known_to_be_shut(
    checklists: Checklists,
) -> None:
    for name, way in (
        ("end-before-gas", "leave the checklist"), ("left-end-before-gas", "leave the phase"),
    ):  # fmt: skip
        step = checklists["hot-gas-defrost-checkout"].step(name)
        assert step is not None and step.type == "stop" and step.otherwise == way
        assert [str(each) for each in step.passed] == ["suction_stop_before_gas is shut"]


@pytest.mark.parametrize(
    ("checklist", "opened"),
    [
        ("condenser-and-head-pressure-warm", "reclaim held off"),
        ("condenser-and-head-pressure-warm", "compressors stopped for the standing test"),
        ("receiver-level-and-charge", "condenser fans held off"),
        ("suction-set-point-worksheet", "probe on this circuit's port"),
        ("defrost-differential-setting", "defrost held to its full time"),
        ("rack-down-triage", "compressors held off and covers off"),
    ],
)
def test_what_is_held_by_hand_is_opened_and_put_back(
    checklist: str, opened: str, checklists: Checklists
) -> None:
    steps = steps_of(checklists[checklist])
    assert [step.id for step in steps if step.opens == opened]
    assert [step.id for step in steps if step.type == "restore" and step.text == opened]


@pytest.mark.parametrize("step_id", ["draw-sample", "bring-it-down"])
def test_oil_parts_are_moved_only_locked_out(step_id: str, checklists: Checklists) -> None:
    checklist = checklists["oil-system"]
    step = checklist.step(step_id)
    assert step is not None and "dead-electrics" in step.does
    assert "lockout" in cautions_above(checklist, step_id)


def test_two_people_remote_probes_or_a_walk_is_said_before_the_defrost(
    checklists: Checklists,
) -> None:
    checklist = checklists["hot-gas-defrost-checkout"]
    assert in_order(checklist, "two-places", "clock-pump-down")
    told = " ".join(checklist.needs.people)
    assert "radio" in told and "read from the case" in told


def test_the_lawful_level_stands_as_a_number_before_something_is_recovered_to_be_opened(
    checklists: Checklists,
) -> None:
    for name in (
        "leak-inspection-and-repair", "liquid-drier-check-and-change", "oil-system",
        "warm-case-triage",
    ):  # fmt: skip
        steps = steps_of(checklists[name])
        shown = [n for n, s in enumerate(steps) if "lawful_recovery_level" in s.quantities]
        taken = [n for n, s in enumerate(steps) if "recover-refrigerant" in s.does]
        assert shown and shown[0] < taken[0], name


OPENS = re.compile(
    r"\b(clean|clear|replace|change|repair|take (the|it) (screen )?out)\w*\b[^.;]*"
    r"\b(strainer|screen|seat|plunger|orifice|float|check( valve)?|cores?|valve)\b(?! stem)",
    re.IGNORECASE,
)
REPAIRS = re.compile(
    r"\b(repair|repaired|differential valve|filters?)\b|\bchange the oil\b", re.IGNORECASE
)
LEAKS = {"charge", "tightness", "oil", "liquid"}  # there a repair opens the circuit
NOT_OPENED = {"chronic-leaker", "low-level-alarm-not-working"}  # a plan; a sensor's wiring
RECOVERS = re.compile(
    r"\bisolat\w+[^.]*\brecover|\brecover\w*[^.]*\b(replace|clean)", re.IGNORECASE
)

NO_CIRCUIT = {"door-gasket-leaking", "vacuum-set-not-tight"}  # a door; hoses on a vacuum pump


def test_every_remedy_that_opens_waits_for_its_gate_and_has_its_cautions(
    shipped_rulebase: Rulebase,
) -> None:
    loose, seen = [], 0
    for cause in shipped_rulebase.causes.values():
        for remedy in cause.remedy:
            if not (OPENS.search(remedy.text) or RECOVERS.search(remedy.text)):
                continue
            seen += 1
            if not remedy.action and cause.id not in NO_CIRCUIT:
                loose.append((cause.id, remedy.text))
            elif remedy.action == "open-circuit":
                needed = {"stored-pressure", "venting", "refrigerant-exposure", "lockout"}
                assert needed <= set(cause.cautions), cause.id
    assert seen > 30
    assert loose == []


def test_a_repair_where_refrigerant_or_oil_is_lost_waits_for_the_gate_of_opening(
    shipped_rulebase: Rulebase,
) -> None:
    loose, seen = [], 0
    for cause in shipped_rulebase.causes.values():
        if cause.system not in LEAKS or cause.id in NOT_OPENED:
            continue
        said = [each for each in cause.remedy if REPAIRS.search(each.text)]
        seen += len(said)
        gated = any(each.action == "open-circuit" for each in cause.remedy)
        bare = [each.text for each in said if not each.action and each.text.startswith("Repair")]
        if said and (not gated or bare):
            loose.append(cause.id)
    assert seen > 15
    assert loose == []


def test_the_store_is_told_to_keep_out_and_not_to_reset() -> None:
    systems = yaml.safe_load((shipped("reports") / "plain.yaml").read_text("utf-8"))["systems"]
    assert "Nobody in the store resets it" in systems["oil"]["watch"]
    for name in ("charge", "tightness", "carbon dioxide"):
        watch = systems[name]["watch"]
        assert "gas alarm" in watch and "keep everybody" in watch and "call us" in watch
    assert "fire service first" in systems["electrical"]["watch"]
    assert "power off" in systems["electrical"]["watch"]


@pytest.mark.parametrize(
    ("subject", "quantity", "text", "taken"),
    [
        ("CC1", "compressor_suction_pressure", "410 psig", True),
        ("CC1", "compressor_discharge_pressure", "1350 psig", True),
        ("C", "discharge_header_pressure_at_rest", "1350 psig", True),
        ("C2", "circuit_pressure_before", "205 psig", True),
        ("C1", "liquid_pressure_at_valve", "535 psig", True),
        ("BC1", "compressor_suction_pressure", "410 psig", False),
        ("B", "discharge_header_pressure_at_rest", "1350 psig", False),
    ],
)
def test_readings_are_taken_in_the_range_of_the_refrigerant(
    subject: str, quantity: str, text: str, taken: bool, site: Site, shipped_rulebase: Rulebase
) -> None:
    on = site.subjects[subject]
    held = suited(shipped_rulebase.quantities[quantity], on)
    if taken:
        value = judge.number(text, held, barometer=101325.0, system="us")
        assert not judge.unusual(value, held, "us")
    else:
        with pytest.raises(ReadingError, match="cannot be"):
            judge.number(text, held, barometer=101325.0, system="us")


@pytest.mark.parametrize(
    ("subject", "limit", "state"),
    [
        ("CC1", "discharge-line-temperature-carbon-dioxide", "normal"),
        ("CC3", "discharge-line-temperature-carbon-dioxide-low", "high"),
        ("BC1", "discharge-line-temperature", "very high"),
    ],
)
def test_245_f_of_discharge_is_judged_by_the_refrigerants_own_limit(
    subject: str, limit: str, state: str, site: Site, shipped_rulebase: Rulebase
) -> None:
    on = site.subjects[subject]
    held = limit_for("discharge_line_temperature", shipped_rulebase.limits, on)
    assert held is not None and held.id == limit
    quantity = shipped_rulebase.quantities["discharge_line_temperature"]
    value = judge.number("245 F", quantity, barometer=101325.0, system="us")
    assert isinstance(value, Measure)
    high = held.high is not None and value.low > held.high
    very_high = held.very_high is not None and value.low > held.very_high
    assert ("very high" if very_high else "high" if high else "normal") == state


def test_oil_and_superheat_are_read_on_a_carbon_dioxide_rack(checklists: Checklists) -> None:
    checklist = checklists["co2-rack-basics"]
    read = {name for step in steps_of(checklist) for name in step.quantities}
    assert {"oil_levels", "oil_reservoir_level", "oil_fill_line"} <= read
    coils = next(phase for phase in checklist.phases if phase.for_each == "circuit")
    asked = [name for step in coils.steps for name in step.quantities]
    assert asked[-3:] == [
        "circuit_pressure_before",
        "coil_outlet_temperature",
        "evaporator_superheat",
    ]
    assert not any("oil" in work for step in steps_of(checklist) for work in step.does)


def test_one_safety_of_each_compressor_is_proven_once_a_year(checklists: Checklists) -> None:
    checklist = checklists["compressor-check"]
    step = checklist.step("prove-one")
    assert step is not None and "nitrogen" in step.does
    assert [str(each) for each in step.when] == ["safety_proven_lately is no"]
    assert in_order(checklist, "safety-proven-lately", "prove-one", "safety-proof", "safety-back")
    back = checklist.step("safety-back")
    assert back is not None and back.type == "restore" and back.text == step.opens


def test_a_current_is_expected_for_the_refrigerant_that_is_inside(checklists: Checklists) -> None:
    checklist = checklists["compressor-check"]
    step = checklist.step("expected-current")
    assert step is not None and "for this refrigerant" in step.how
    assert any("for this refrigerant" in each for each in checklist.needs.conditions)


def test_a_chilled_circuit_with_hot_or_cool_gas_has_its_checkout_and_is_led_to_it(
    site: Site, checklists: Checklists, shipped_rulebase: Rulebase
) -> None:
    on = site.subjects["B6"]
    assert (on.fact("application"), on.fact("defrost")) == ("medium temperature", "hot gas")
    calls = {
        step.called.id
        for step in steps_of(checklists["warm-case-triage"])
        if step.called is not None and not why_not(step.called, on)
    }
    assert "hot-gas-defrost-checkout" in calls
    assert not calls & {"electric-defrost-checkout", "off-cycle-defrost-check"}
    for name in ("defrost_differential", "defrost_clearing_time", "defrost_time", "drip_time"):
        assert limit_for(name, shipped_rulebase.limits, on) is not None, name
    (hot,) = (
        step
        for step in steps_of(checklists["hot-gas-defrost-checkout"])
        if step.quantities == ("hot_gas_header_temperature",)
    )
    assert "defrost_gas is cool gas" in [str(each) for each in hot.unless]


def test_the_branch_of_hot_gas_is_looked_at_only_where_there_is_one(
    site: Site, checklists: Checklists
) -> None:
    for name in ("warm-case-triage", "evaporator-pressure-regulator"):
        (step,) = (
            each
            for each in steps_of(checklists[name])
            if each.quantities == ("hot_gas_line_in_cooling",)
        )
        shown = {each: fits(step, site.subjects[each]) for each in ("A4", "B6", "B1", "A8", "C1")}
        expected = {"A4": True, "B6": True, "B1": False, "A8": False, "C1": False}
        assert shown == expected, name


def test_nobody_at_an_open_case_has_to_say_yes_to_a_door(shipped_rulebase: Rulebase) -> None:
    caution = shipped_rulebase.cautions["cold-burns"]
    assert "freezer door" not in caution.ask
    assert "of any room that can shut behind you" in caution.ask


def test_no_hose_of_other_refrigerants_goes_on_a_carbon_dioxide_rack(
    site: Site, checklists: Checklists
) -> None:
    seen = 0
    for checklist in checklists.values():
        for subject in site.subjects.values():
            if subject.rack != "C" or why_not(checklist, subject):
                continue
            for step in steps_of(checklist):
                if fits(step, subject):
                    seen += 1
                    assert "tee" not in re.findall(r"\w+", f"{step.text} {step.say} {step.how}")
    assert seen > 500
