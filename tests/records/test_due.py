"""Clocks, what stops them, and the calendar. Days by hand from 40 CFR 82.157 and 84.106 as they
stand in `physics/leak_law/leak_rules.yaml`."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from records_made import happening, movement, system

from expert.physics.leak_law.appliance import months_later
from expert.records.calendar import to_calendar
from expert.records.due import AFTER_REPAIR, CHRONIC, PLAN, Duty, duties, open_until
from expert.records.ledger import SystemLog, build
from expert.records.record_roles import FOLLOW_UP, INITIAL, INSPECTION, OPENED, REPAIR, record_roles
from expert.records.systems import EU

FIRST = movement("2026-01-05", 600, reason="first charge")
OVER = movement("2026-05-05", 62)  # 31.4 %, over 20 %
TODAY = date(2026, 6, 10)


def made(*after: object, moved: tuple = (FIRST, OVER), charge: object = 600) -> SystemLog:
    return build(system(charge), moved, after, record_roles())  # type: ignore[arg-type]


def by_name(found: list[Duty]) -> dict[str, Duty]:
    return {each.what: each for each in found}


def test_a_rate_over_the_limit_starts_the_clocks() -> None:
    found = by_name(duties(made(), TODAY))
    assert found[REPAIR].due == date(2026, 6, 4)  # 30 days from May 5
    assert found[INITIAL].due == date(2026, 6, 4)
    assert found[PLAN].due == date(2026, 6, 4)
    assert found[INSPECTION].due == date(2026, 8, 5)  # three months, 500 lb and more
    assert FOLLOW_UP not in found and CHRONIC not in found
    assert found[REPAIR].overdue(TODAY) and not found[INSPECTION].overdue(TODAY)


def test_a_small_system_is_inspected_once_in_each_calendar_year() -> None:
    moved = (movement("2026-01-05", 400, reason="first charge"), OVER)
    found = by_name(duties(made(moved=moved, charge=400), TODAY))
    assert found[INSPECTION].due == date(2026, 12, 31)


def test_in_the_european_union_checks_go_by_the_charge_and_no_rate_starts_a_clock() -> None:
    """R-449A: GWP 1,396; 600 lb are 380 t, checked every six months; a repair within one."""
    union = replace(system(600), law=EU, methods=())
    after = (happening("2026-04-20", INSPECTION), happening("2026-05-06", REPAIR))
    log = build(union, (FIRST, OVER), after, record_roles())
    assert not any(line.rates or line.asked for line in log.lines)
    found = [(each.what, each.due, each.done) for each in duties(log, TODAY)]
    first = months_later(FIRST.day, 6)
    assert (INSPECTION, first, date(2026, 4, 20)) in found
    assert (INSPECTION, date(2026, 10, 20), None) in found
    assert (AFTER_REPAIR, date(2026, 6, 6), None) in found
    assert len(found) == 3


def test_under_the_limit_nothing_is_due() -> None:
    assert duties(made(moved=(FIRST, movement("2026-05-05", 20))), TODAY) == []


def test_without_a_full_charge_nothing_is_called_done_and_the_log_says_why() -> None:
    log = made(charge=None)
    assert duties(log, TODAY) == []
    assert "unknown" in log.notes[0]


def test_what_was_done_stops_a_clock_and_the_follow_up_counts_from_the_initial_test() -> None:
    log = made(happening("2026-05-20", REPAIR), happening("2026-05-20", INITIAL))
    found = by_name(duties(log, TODAY))
    assert found[REPAIR].done == found[INITIAL].done == date(2026, 5, 20)
    assert (found[FOLLOW_UP].due, found[FOLLOW_UP].done) == (date(2026, 5, 30), None)
    done = made(
        happening("2026-05-20", REPAIR), happening("2026-05-20", INITIAL),
        happening("2026-05-28", FOLLOW_UP),
    )  # fmt: skip
    assert by_name(duties(done, TODAY))[FOLLOW_UP].done == date(2026, 5, 28)
    assert [each.what for each in open_until(duties(done, TODAY), None)] == [INSPECTION]


def test_a_verification_before_the_addition_stops_nothing() -> None:
    found = by_name(duties(made(happening("2026-05-04", INITIAL)), TODAY))
    assert found[INITIAL].done is None and FOLLOW_UP not in found


def test_where_the_circuit_was_opened_it_is_said_from_when_the_days_count() -> None:
    log = made(happening("2026-05-20", OPENED), happening("2026-05-20", INITIAL))
    assert "normal operation" in by_name(duties(log, TODAY))[FOLLOW_UP].note


def test_a_further_addition_before_the_repair_does_not_start_the_clock_anew() -> None:
    moved = (FIRST, OVER, movement("2026-05-25", 50))
    starts = {each.since for each in duties(made(moved=moved), TODAY) if each.what == REPAIR}
    assert starts == {date(2026, 5, 5)}
    repaired = made(happening("2026-05-20", REPAIR), moved=moved)
    starts = {each.since for each in duties(repaired, TODAY) if each.what == REPAIR}
    assert starts == {date(2026, 5, 5), date(2026, 5, 25)}


def test_inspections_go_on_from_the_last_one_and_end_after_four_quarters() -> None:
    log = made(happening("2026-07-30", INSPECTION))
    every = [each for each in duties(log, TODAY) if each.what == INSPECTION]
    assert [(each.due, each.done) for each in every] == [(date(2026, 8, 5), None)]
    later = [each for each in duties(log, date(2026, 8, 1)) if each.what == INSPECTION]
    assert [(each.due, each.done) for each in later] == [
        (date(2026, 8, 5), date(2026, 7, 30)), (date(2026, 10, 30), None),
    ]  # fmt: skip
    # May lies in the second quarter; the fourth whole one after it ends on June 30, 2027
    days = ("2026-07-30", "2026-10-30", "2027-01-30", "2027-04-28")
    log = made(*(happening(day, INSPECTION) for day in days))
    assert not [
        each for each in open_until(duties(log, date(2027, 5, 1)), None) if each.what == INSPECTION
    ]
    log = made(*(happening(day, INSPECTION) for day in days[:3]))
    last = [each for each in duties(log, date(2027, 2, 1)) if each.what == INSPECTION][-1]
    assert (last.due, last.done) == (date(2027, 4, 30), None)  # in the fourth quarter, so it counts


def test_an_inspection_on_the_last_day_of_the_fourth_quarter_is_still_due() -> None:
    days = ("2026-08-01", "2026-11-01", "2027-01-31", "2027-03-30")  # three months on: June 30
    log = made(*(happening(day, INSPECTION) for day in days))
    last = [each for each in duties(log, date(2027, 4, 1)) if each.what == INSPECTION][-1]
    assert (last.due, last.done) == (date(2027, 6, 30), None)
    log = made(*(happening(day, INSPECTION) for day in (*days[:3], "2027-04-01")))
    found = open_until(duties(log, date(2027, 4, 2)), None)
    assert INSPECTION not in by_name(found)  # July 1 lies after it


def test_a_chronic_leaker_is_reported_by_the_first_of_march() -> None:
    moved = (FIRST, movement("2026-05-05", 400), movement("2026-09-05", 350))  # 750 of 600 lb
    found = by_name(duties(made(moved=moved), date(2026, 12, 1)))
    assert found[CHRONIC].due == date(2027, 3, 1)
    assert "125 %" in found[CHRONIC].note
    less = (FIRST, movement("2026-05-05", 400), movement("2026-09-05", "349.9"))
    assert CHRONIC not in by_name(duties(made(moved=less), date(2026, 12, 1)))


def test_only_what_is_due_up_to_a_day() -> None:
    found = duties(made(), TODAY)
    assert {each.what for each in open_until(found, date(2026, 6, 4))} == {REPAIR, INITIAL, PLAN}
    assert open_until(found, date(2026, 6, 3)) == []


def test_the_calendar_read_back_says_the_same_and_uids_stay() -> None:
    calendar = pytest.importorskip("icalendar")
    now = datetime(2026, 6, 10, 12, tzinfo=UTC)
    first = duties(made(), TODAY)
    after = duties(made(happening("2026-06-01", REPAIR)), TODAY)
    events = [
        {str(event["uid"]): event for event in read.walk("VEVENT")}
        for read in (
            calendar.Calendar.from_ical(to_calendar(found, "It is not legal advice; ask.", now))
            for found in (first, after)
        )
    ]
    assert set(events[0]) == set(events[1]) == {each.uid for each in first}
    for duty in first:
        event = events[0][duty.uid]
        assert event.decoded("dtstart") == duty.due
        assert event.decoded("dtstamp") == now
        assert str(event["status"]) == "CONFIRMED"
        assert duty.what in str(event["summary"])
        assert "not legal advice; ask." in str(event["description"])
    repair = next(each.uid for each in after if each.what == REPAIR)
    assert str(events[1][repair]["status"]) == "CANCELLED"
    assert events[1][repair]["sequence"] > events[0][repair]["sequence"]


def test_two_systems_have_different_uids() -> None:
    other = build(system(name="B"), [], [], record_roles())
    assert other.lines == ()
    moved = [movement("2026-01-05", 600, reason="first charge", system="B")]
    moved.append(movement("2026-05-05", 62, system="B"))
    there = {each.uid for each in duties(build(system(name="B"), moved, [], record_roles()), TODAY)}
    assert not there & {each.uid for each in duties(made(), TODAY)}
