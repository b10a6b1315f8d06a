"""Reading, acting, harm, danger, and going on from the entries."""

from __future__ import annotations

import pytest
from practice_made import CONDENSER, act, attempt_at, read

from expert.errors import ReadingError
from expert.practice.attempt import NeedsCaution
from expert.practice.looking_back import enough_of, points, shortest_way, showed
from expert.practice.looking_back import readings_of_plant as all_readings
from expert.practice.setting_model import Exercise, RoomAlarm
from expert.practice.tool_plays import play_exercise
from expert.terminal.layout import Layout
from expert.terminal.practice_pictures import rack_lines


def test_a_reading_takes_its_time_and_the_way() -> None:
    attempt = attempt_at()
    read(attempt, "sight_glass")
    there = attempt.minutes
    assert attempt.spot == "motor room" and there >= attempt.setting.walking["motor room"]
    read(attempt, "receiver_level")
    effort = attempt.rulebase.quantities["receiver_level"].effort
    assert attempt.minutes == there + effort  # no way, one stands there


def test_a_caution_comes_before_what_it_guards() -> None:
    attempt = attempt_at()
    quantity = attempt.rulebase.quantities["condenser_face"]
    with pytest.raises(NeedsCaution):
        attempt.read(quantity)
    assert not attempt.read_at and attempt.minutes == 0


def test_the_right_repair_cures_and_is_looked_back_on() -> None:
    attempt = attempt_at()
    read(attempt, "outdoor_temperature")
    assert read(attempt, "condenser_face") == "dirty"
    for name in ("discharge_header_pressure_at_rest", "condenser_leaving_air"):
        read(attempt, name)
    assert attempt.say_cause("dirty-condenser")
    act(attempt, "lock-out")
    act(attempt, "clean-condenser")
    assert attempt.cured() == ("dirty-condenser",) and not attempt.stopped
    judged = points(attempt)
    assert not judged[0].right and judged[-1].right
    enough = [q.id for q in enough_of(attempt)]
    assert enough and len(enough) < len(judged)
    assert "condenser_face" in [q.id for q, _ in showed(attempt)]
    way = shortest_way(attempt, all_readings(attempt))
    assert way.found and way.minutes > 0


def test_what_was_read_before_a_change_is_not_taken_for_now() -> None:
    attempt = attempt_at()
    read(attempt, "condenser_face")
    act(attempt, "lock-out")
    act(attempt, "clean-condenser")
    assert attempt.readings == ()
    assert read(attempt, "condenser_face") == "clean"


def test_a_repair_of_what_is_not_broken_costs_and_changes_nothing() -> None:
    attempt = attempt_at()
    act(attempt, "lock-out")
    before = attempt.minutes
    act(attempt, "replace-condenser-fan")
    assert attempt.parts == 1 and attempt.minutes > before + 60
    assert attempt.plant.changes == 0 and attempt.cured() == ()


def test_wrong_turning_does_harm_that_shows() -> None:
    attempt = attempt_at()
    before = read(attempt, "suction_header_pressure_at_rest")
    act(attempt, "set-suction-set-point", "60 psig")
    after = read(attempt, "suction_header_pressure_at_rest")
    assert float(after.split()[0]) > float(before.split()[0]) + 5
    act(attempt, "lock-out")
    act(attempt, "clean-condenser")
    assert attempt.cured() and attempt.plant.odd()


@pytest.mark.parametrize(
    ("action", "amount", "why"),
    [
        ("clean-condenser", "", "locked out"),
        ("change-drier", "", "opened with refrigerant in it"),
        ("bridge-high-pressure-cut-out", "", "safety was bypassed"),
        ("vent-refrigerant", "", "vented"),
        ("add-refrigerant", "2000 lb", "past what is marked"),
    ],
)
def test_a_dangerous_action_stops_the_exercise(action: str, amount: str, why: str) -> None:
    attempt = attempt_at()
    assert act(attempt, action, amount).kind == "stopped"
    assert attempt.over and why in attempt.stopped
    with pytest.raises(ReadingError, match="over"):
        read(attempt, "outdoor_temperature")


def test_a_room_in_alarm_is_not_entered_before_it_is_ventilated() -> None:
    alarm = RoomAlarm("motor room", "machine_room_gas", "alarm", "ventilate-motor-room")
    exercise = Exercise("alarm", "Alarm", "easy", 3, ("dirty-condenser",), (0.8,), alarm=alarm)
    attempt = attempt_at(exercise)
    assert read(attempt, "machine_room_gas") == "alarm" and not attempt.over
    act(attempt, "ventilate-motor-room")
    assert read(attempt, "machine_room_gas") == "nothing"
    assert read(attempt, "receiver_level") and not attempt.over
    other = attempt_at(exercise)
    read(other, "receiver_level")
    assert other.over and "gas alarm" in other.stopped


def test_an_action_before_its_gate_is_shown_to_be_open_is_told() -> None:
    attempt = attempt_at()
    act(attempt, "add-refrigerant", "1 lb")
    assert not attempt.over and attempt.unproven and attempt.charged > 0


def test_an_attempt_goes_on_from_its_entries_as_it_was() -> None:
    attempt = attempt_at()
    read(attempt, "condenser_face")
    act(attempt, "set-condensing-floor", "80 F")
    act(attempt, "lock-out")
    act(attempt, "clean-condenser")
    again = attempt_at(CONDENSER, tuple(attempt.entries))
    assert again.minutes == attempt.minutes and again.spot == attempt.spot
    assert again.holds == attempt.holds and again.cured() == attempt.cured()
    assert again.plant.told() == attempt.plant.told()


def test_an_amount_is_refused_where_none_is_taken_and_asked_where_one_is_needed() -> None:
    attempt = attempt_at()
    for action, amount in (("open-king-valve", "3 psi"), ("add-refrigerant", ""),
                           ("add-refrigerant", "lots"), ("add-refrigerant", "-4 lb")):  # fmt: skip
        with pytest.raises(ReadingError):
            act(attempt, action, amount)
    assert attempt.plant.changes == 0


def test_the_tool_plays_an_exercise_by_what_it_would_read_next() -> None:
    played = play_exercise(attempt_at())
    assert played.first_right and played.cured and not played.stopped
    assert 0 < played.readings < 15


def test_a_defrost_is_read_at_its_moments() -> None:
    exercise = Exercise("defrost", "Ice", "easy", 2, ("suction-stop-leaking",), (0.8,))
    attempt = attempt_at(exercise)
    read(attempt, "liquid_header_pressure_at_rest")
    read(attempt, "circuit_pressure")
    assert attempt.clock is not None and attempt.clock.began is not None
    read(attempt, "circuit_pressure")
    series = [each.seconds for each in attempt.found if each.quantity == "circuit_pressure"]
    assert len(series) == 2 and series[0] is not None and series[1] is not None
    assert series[0] < series[1]
    with pytest.raises(ReadingError, match="before the defrost"):
        read(attempt, "discharge_header_pressure_at_rest")
    read(attempt, "ice_left")
    assert attempt.minutes >= attempt.clock.ends
    with pytest.raises(ReadingError, match="Gas is off"):
        read(attempt, "hot_gas_header_pressure")
    attempt.start_defrost()
    read(attempt, "hot_gas_header_pressure")


def test_what_the_plant_does_not_tell_is_said_and_costs_nothing() -> None:
    attempt = attempt_at()
    with pytest.raises(ReadingError, match="cannot be had on this plant"):
        attempt.read(attempt.rulebase.quantities["bubbles_when"])
    assert attempt.minutes == 0 and not attempt.entries


def test_what_is_too_late_is_told_before_its_hazards_and_comes_again() -> None:
    attempt = attempt_at(Exercise("late", "Ice", "easy", 2, ("suction-stop-leaking",), (0.8,)))
    read(attempt, "ice_left")
    with pytest.raises(ReadingError, match="Gas is off"):
        attempt.read(attempt.rulebase.quantities["suction_stop"])
    frost = attempt.rulebase.quantities["frost_before"]
    with pytest.raises(ReadingError, match=r"at rest again in (\d+) min") as caught:
        attempt.read(frost)
    attempt.wait(float(str(caught.value).rpartition("'wait ")[2].partition(" min")[0]))
    assert read(attempt, "frost_before")


def test_the_rack_says_what_was_read_before_the_change() -> None:
    attempt, layout = attempt_at(), Layout(40, ascii_only=True)
    read(attempt, "outdoor_temperature")
    assert "(before the change)" not in " ".join(rack_lines(attempt, layout))
    act(attempt, "lock-out")
    act(attempt, "clean-condenser")
    read(attempt, "condenser_face")
    told = rack_lines(attempt, layout)
    assert max(map(len, told)) <= 40
    assert "F (before the change); condenser face clean" in " ".join(" ".join(told).split())
