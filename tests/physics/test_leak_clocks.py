"""Clocks and duties that follow from a leak rate or a full charge."""

from __future__ import annotations

from datetime import date

import pytest
from check_values import leak
from hypothesis import given
from hypothesis import strategies as st

from expert.physics.frame.physics_errors import PhysicsError, UnknownRefrigerant
from expert.physics.leak_law.appliance import Reason, added_in, addition, appliance, months_later
from expert.physics.leak_law.clocks import (
    applies,
    chronic,
    detection_duty,
    inspection,
    keep_records_until,
    repair_clock,
)
from expert.physics.leak_law.rate import Method, leak_rate

USES = {"commercial": "commercial refrigeration", "comfort cooling": "comfort cooling"}


def day(text: str) -> date:
    return date.fromisoformat(text)


@pytest.mark.parametrize("number", range(6))
def test_contents_charge_and_date_decide_which_rule_applies(number: int) -> None:
    case = leak("G07")
    given_, expected = dict(case["inputs"][number]), case["expected"][number]
    on = day(given_.pop("addition_date", "2026-05-01"))
    ((refrigerant, charge),) = given_.items()
    found = applies(appliance(refrigerant, charge), on)
    assert found == expected.split(" (")[0]


def test_a_blend_of_both_kinds_is_under_both_rules() -> None:
    assert applies(appliance("R-402A", 58), day("2026-05-01")) == (
        "40 CFR 82.157 and 40 CFR 84.106, limit 20 %"
    )
    assert applies(appliance("R-402A", 20), day("2026-05-01")) == "40 CFR 84.106, limit 20 %"


@pytest.mark.parametrize(("refrigerant", "charge"), [("R-22", 50), ("R-404A", 15)])
def test_the_threshold_charge_itself_is_covered(refrigerant: str, charge: int) -> None:
    assert applies(appliance(refrigerant, charge), day("2026-01-01")) != "none"
    assert applies(appliance(refrigerant, f"{charge - 1}.9"), day("2026-01-01")) == "none"


def test_a_day_before_the_rules_held_here_is_refused() -> None:
    with pytest.raises(PhysicsError, match="begin on 2020-04-10"):
        applies(appliance("R-22", 58), day("2019-05-01"))


def test_repair_and_initial_verification_are_due_thirty_days_after_the_addition() -> None:
    case = leak("G02")
    clock = repair_clock(day(case["inputs"]["addition"]))
    due = day(case["expected"]["repair_and_initial_verification_by"])
    assert clock.repair_by == due
    assert clock.initial_verification_by == due


def test_a_process_shutdown_gives_one_hundred_and_twenty_days() -> None:
    assert repair_clock(day("2026-03-10"), process_shutdown=True).repair_by == day("2026-07-08")


def test_the_clocks_after_a_trigger_run_as_in_the_check_case() -> None:
    case = leak("G15")
    given_, expected = case["inputs"], case["expected"]
    clock = repair_clock(
        day(given_["refrigerant_added_and_limit_exceeded"]),
        initial_passed=day(given_["initial_verification_passed"]),
    )
    assert clock.repair_by == day(expected["repair_and_initial_verification_by"])
    assert clock.follow_up_by == day(expected["follow_up_by"])
    assert clock.plan_by == day(expected["retrofit_or_retirement_plan_by_if_not_repaired"])


def test_after_an_evacuation_the_follow_up_counts_from_normal_operation() -> None:
    start, passed = day("2026-03-10"), day("2026-04-01")
    waiting = repair_clock(start, initial_passed=passed, evacuated=True)
    running = repair_clock(
        start, initial_passed=passed, evacuated=True, back_in_operation=day("2026-04-05")
    )
    assert waiting.follow_up_by is None
    assert running.follow_up_by == day("2026-04-15")


def test_there_is_no_follow_up_day_before_the_initial_test_has_passed() -> None:
    assert repair_clock(day("2026-03-10")).follow_up_by is None


def test_a_verification_before_the_addition_is_refused() -> None:
    with pytest.raises(PhysicsError, match="earlier"):
        repair_clock(day("2026-03-10"), initial_passed=day("2026-03-09"))


@pytest.mark.parametrize("identity", ["G11", "G12"])
def test_one_hundred_and_twenty_five_per_cent_or_more_is_reported(identity: str) -> None:
    case = leak(identity)
    expected = case["expected"]
    found = chronic(case["inputs"]["additions_2026"], case["inputs"]["full_charge_lb"], 2026)
    assert float(found.percent) == expected["pct_of_full_charge"]
    assert found.report is expected["report"]
    assert found.report_by == day(expected.get("report_by", "2027-03-01"))


def test_just_under_one_hundred_and_twenty_five_per_cent_is_not_reported() -> None:
    found = chronic(["499.99"], 400, 2026)
    assert not found.report
    assert found.report_by is None


def test_only_additions_of_the_year_that_ask_for_a_rate_count_for_it() -> None:
    additions = [
        addition(day("2025-12-31"), 100),
        addition(day("2026-01-01"), 400, Reason.FIRST_CHARGE),
        addition(day("2026-01-02"), 30),
    ]
    assert added_in(2026, additions) == [30]


@pytest.mark.parametrize("number", range(4))
def test_large_newer_racks_must_have_automatic_leak_detection(number: int) -> None:
    case = leak("G13")
    given_, expected = case["inputs"][number], case["expected"][number]
    found = detection_duty(appliance("R-449A", given_["full_charge_lb"]), day(given_["installed"]))
    if found.required:
        assert expected.startswith(f"required by {found.by}")
    else:
        assert expected == f"not required ({found.reason})"


def test_a_rack_of_carbon_dioxide_needs_no_leak_detection_by_this_rule() -> None:
    found = detection_duty(appliance("R-744", 3000), day("2026-07-15"))
    assert not found.required
    assert found.reason == "the refrigerant is not covered"


@pytest.mark.parametrize("number", range(3))
def test_inspections_follow_charge_and_use(number: int) -> None:
    case = leak("G16")
    given_ = case["inputs"][number]
    found = inspection(
        appliance("R-449A", given_["full_charge_lb"], USES[given_["type"]]), day("2026-03-10")
    )
    assert found
    often = {3: "once every three months", 12: "once per calendar year"}[found.every_months]
    assert f"{often} until {found.until}" == case["expected"][number]


def test_the_first_quarterly_inspection_is_three_months_on() -> None:
    found = inspection(appliance("R-449A", 1200), day("2026-11-30"))
    assert found
    assert found.first_by == day("2027-02-28")


def test_a_detector_that_watches_it_all_replaces_inspections() -> None:
    assert inspection(appliance("R-449A", 1200), day("2026-03-10"), detector=True) is None


def test_records_are_kept_three_years() -> None:
    assert keep_records_until(day("2028-02-29")) == day("2031-02-28")


def test_every_duty_carries_the_notice() -> None:
    unit, on = appliance("R-449A", 2000), day("2026-03-10")
    for found in (
        repair_clock(on),
        chronic([1], 100, 2026),
        inspection(unit, on),
        detection_duty(unit, on),
    ):
        assert found
        assert "local rules decide" in found.notice


def test_an_unknown_refrigerant_or_use_is_refused() -> None:
    with pytest.raises(UnknownRefrigerant):
        applies(appliance("R-999", 100), day("2026-05-01"))
    with pytest.raises(PhysicsError, match="commercial refrigeration"):
        inspection(appliance("R-449A", 100, "a shop"), day("2026-05-01"))


@given(st.dates(date(2020, 1, 1), date(2090, 1, 1)), st.integers(0, 240))
def test_months_later_stays_in_the_right_month(start: date, months: int) -> None:
    found = months_later(start, months)
    assert (found.year * 12 + found.month) - (start.year * 12 + start.month) == months
    assert found.day <= start.day


def test_residential_and_light_commercial_comfort_cooling_is_outside_the_hfc_rule() -> None:
    use = "residential or light commercial comfort cooling"
    day = date(2026, 5, 1)
    assert applies(appliance("R-410A", 60, use), day) == "none"
    assert applies(appliance("R-410A", 60, "comfort cooling"), day).startswith("40 CFR 84.106")
    assert applies(appliance("R-22", 60, use), day).startswith("40 CFR 82.157")


def test_the_rolling_window_is_365_days_with_the_day_of_the_addition() -> None:
    unit = appliance("R-449A", 1000)
    for first, counted in (
        (date(2025, 5, 5), 150),
        (date(2025, 5, 4), 150),
        (date(2025, 5, 6), 250),
    ):
        history = [addition(first, 100), addition(date(2026, 5, 5), 150)]
        found = leak_rate(unit, history, date(2026, 5, 5), Method.ROLLING_AVERAGE)
        assert found.added == counted, first


def test_one_addition_alone_cannot_say_that_the_rate_is_not_over() -> None:
    unit, on = appliance("R-449A", 1000), date(2026, 5, 5)
    alone = [addition(on, 100)]
    found = leak_rate(unit, alone, on, Method.ROLLING_AVERAGE)
    assert not found.over and not found.settled
    assert any("is not known" in note for note in found.notes)
    known = leak_rate(unit, alone, on, Method.ROLLING_AVERAGE, known_since=date(2025, 1, 1))
    assert known.settled and not known.over
    tested = leak_rate(unit, alone, on, Method.ROLLING_AVERAGE, date(2026, 3, 1))
    assert tested.settled
    much = leak_rate(unit, [addition(on, 300)], on, Method.ROLLING_AVERAGE)
    assert much.over and much.settled


def test_under_500_lb_is_inspected_once_in_each_calendar_year() -> None:
    found = inspection(appliance("R-449A", 300), date(2026, 5, 5))
    assert found is not None
    assert found.first_by == date(2026, 12, 31)
    assert found.next_by(date(2026, 9, 1)) == date(2027, 12, 31)
    assert found.how_often == "once in each calendar year"
