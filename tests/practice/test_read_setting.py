"""Exercises and actions as YAML: what is wrong is told with its line and the nearest name."""

from __future__ import annotations

from pathlib import Path

import pytest
from practice_made import shipped_setting
from shipped_knowledge import shipped_rules

from expert.errors import PackError
from expert.knowledge.pack_files import pack_files, practice_files
from expert.plant.faults import faults
from expert.practice.read_setting import load_practice

PACK = "pack: {name: our-store, version: 0.1.0, over: rackwalk-base}\n"
EXERCISE = """\
exercises:
  - id: our-condenser
    title: Head on a warm day
    level: easy
    plant: {seed: 3, application: medium temperature, weather: hot}
    faults: [{fault: dirty-condenser, severity: 60 %}]
    shows: [condenser_face is dirty]
"""
ACTION = """\
actions:
  - id: look-away
    title: look away
    place: roof
    minutes: 3
    source: common practice
"""


def pack(folder: Path, text: str) -> Path:
    place = folder / "our-store"
    (place / "practice").mkdir(parents=True)
    (place / "pack.yaml").write_text(PACK, encoding="utf-8")
    (place / "practice" / "ours.yaml").write_text(text, encoding="utf-8")
    return place


def test_a_pack_adds_exercises_to_the_shipped(tmp_path: Path) -> None:
    found = load_practice(pack(tmp_path, EXERCISE + ACTION), shipped_rules())
    assert found.exercises["our-condenser"].severities == (0.6,)
    assert set(found.actions) == {*shipped_setting().actions, "look-away"}


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("dirty-condenser", "dirty-condensor", 6, "Did you mean 'dirty-condenser'?"),
        ("level: easy", "level: esy", 4, "Did you mean 'easy'?"),
        ("condenser_face is dirty", "condenser_fase is dirty", 7, "not a known quantity"),
        ("severity: 60 %", "severity: 160 %", 6, "0 % (just visible) to 100 %"),
        ("weather: hot", "weather: warm", 5, "Known: hot, mild, cold."),
        ("title: Head", "titel: Head", 3, "Did you mean 'title'?"),
        ("seed: 3", "seed: three", 5, "whole number"),
        ("place: roof", "place: rof", 11, "Did you mean 'roof'?"),
        ("minutes: 3", "minutes: 3\n    needs: [lock-ot]", 9, "Did you mean 'lock-out'?"),
        ("minutes: 3", "minutes: 3\n    repairs: [dirty-condensor]", 13, "dirty-condenser"),
        ("minutes: 3", "minutes: 3\n    cautions: [lock-out]", 13, "'lockout'"),
        (
            "minutes: 3",
            "minutes: 3\n    amount: {parameter: flor, kind: temperature, way: to}",
            13,
            "Did you mean 'floor'?",
        ),
        ("id: look-away", "id: lock-out", 9, "already there"),
    ],
)
def test_a_mistake_is_told_with_its_line(
    tmp_path: Path, old: str, new: str, line: int, said: str
) -> None:
    text = EXERCISE + ACTION
    assert text.count(old) == 1
    with pytest.raises(PackError) as caught:
        load_practice(pack(tmp_path, text.replace(old, new)), shipped_rules())
    told = [str(each) for each in caught.value.problems if each.place.line == line]
    assert any(said in each for each in told), str(caught.value)


def test_exercises_are_no_files_of_the_rules_and_do_not_change_their_hash(tmp_path: Path) -> None:
    place = pack(tmp_path, EXERCISE)
    assert [each.name for each in pack_files(place)] == ["pack.yaml"]
    assert [each.name for each in practice_files(place)][-1] == "ours.yaml"


def test_every_fault_of_the_model_can_be_put_right_by_an_action() -> None:
    setting = shipped_setting()
    can = {fault for action in setting.actions.values() for fault in action.repairs}
    assert can == set(faults())


def test_every_cause_that_counts_as_right_can_be_repaired() -> None:
    setting = shipped_setting()
    for fault in faults():
        assert fault in shipped_rules().causes
        assert setting.repairs_of(fault), fault


def test_what_is_held_can_be_ended() -> None:
    setting = shipped_setting()
    ended = {name for action in setting.actions.values() for name in action.ends}
    needed = {name for action in setting.actions.values() for name in action.needs}
    assert needed <= ended
