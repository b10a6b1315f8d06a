"""Each shipped exercise shows what it says, and can be solved from readings alone: played."""

from __future__ import annotations

import pytest
from budget import step
from practice_made import attempt_at, shipped_setting

from expert.practice.looking_back import readings_of_plant
from expert.practice.setting_model import LEVELS
from expert.practice.tool_plays import play_exercise

ALL = sorted(shipped_setting().exercises)
SOME = ALL[:: step(15)]


def test_there_are_fifteen_from_easy_to_two_faults_at_once() -> None:
    found = shipped_setting().exercises.values()
    assert len(found) >= 15
    assert {each.level for each in found} == set(LEVELS)
    assert sum(len(each.faults) > 1 for each in found) >= 2
    assert sum(each.alarm is not None for each in found) >= 1


@pytest.mark.parametrize("name", ALL)
def test_no_exercise_gives_its_answer_away(name: str) -> None:
    exercise = shipped_setting().exercises[name]
    told = f"{exercise.id} {exercise.title} {exercise.call}".lower()
    for fault in exercise.faults:
        assert fault not in told and fault.replace("-", " ") not in told


@pytest.mark.parametrize("name", SOME)
def test_an_exercise_shows_what_it_must_and_is_solved_from_readings(name: str) -> None:
    exercise = shipped_setting().exercises[name]
    attempt = attempt_at(exercise)
    assert attempt.plant.says, "nobody would call"
    told = [each for several in readings_of_plant(attempt).values() for each in several]
    facts, _ = attempt.evaluator.facts(tuple(told), None)
    attempt.evaluator.run(facts)
    for condition in exercise.shows:
        assert facts.holds(condition) is True, condition
    played = play_exercise(attempt)
    assert not played.stopped and not played.unproven
    assert played.first_right and played.cured, played
