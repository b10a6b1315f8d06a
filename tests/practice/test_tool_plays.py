"""The tool's own play: it proves what leads before it says so, and acts only behind open gates."""

from __future__ import annotations

from budget import at_night
from practice_made import attempt_at, read

from expert.practice.setting_model import Exercise
from expert.practice.tool_plays import REASONED, play_exercise

HELD = Exercise(
    "held", "Low level", "middle", 655032067, ("liquid-held-before-receiver",), (0.215,)
)


LEAKING = Exercise(
    "leaking", "Weak compressor", "easy", 566142873, ("compressor-valve-leakage",), (0.643,)
)


@at_night
def test_a_valve_plate_is_replaced_once_a_second_test_says_the_same() -> None:
    attempt = attempt_at(LEAKING)
    played = play_exercise(attempt)
    assert played.cured and not played.held_back and not played.unproven, played
    read = [e.text("quantity") for e in attempt.entries if e.kind == "read"]
    assert {"second_test", "part_signal", "leak_back"} <= {*read}


def test_a_second_test_clears_a_compressor_that_is_in_order() -> None:
    attempt = attempt_at()  # a dirty condenser
    plate = attempt.setting.actions["replace-valve-plate"]
    assert read(attempt, "second_test") == "disagrees"
    assert "replace-compressor-proven-twice" in [gate.id for gate in attempt.shut(plate)]


@at_night
def test_a_part_that_stands_shut_is_looked_at_before_anything_is_charged() -> None:
    attempt = attempt_at(HELD)
    played = play_exercise(attempt)
    assert "drop_leg_valves" in [e.text("quantity") for e in attempt.entries if e.kind == "read"]
    assert "repair-leak-and-charge" not in [e.text("action") for e in attempt.entries]
    assert attempt.charged == 0 and not played.unproven and not played.stopped
    assert played.first_right and played.cured, played


def test_what_leads_is_said_only_once_more_readings_have_not_moved_it() -> None:
    attempt = attempt_at()
    play_exercise(attempt)
    kinds = [each.kind for each in attempt.entries if each.kind in ("read", "named")]
    assert kinds.index("named") > REASONED
    asked = [each.text("quantity") for each in attempt.entries if each.kind == "read"]
    assert not {*asked} & attempt.not_here
