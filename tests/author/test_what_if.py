"""Readings set line by line, and what each line changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.author.what_if import WhatIf, change_lines, known_lines
from expert.errors import PackError, ReadingError
from expert.inference.subject_file import read_subject_file
from expert.knowledge.model import Rulebase

FILE = """\
refrigerant: R-449A
application: low temperature
case_fans: all stopped
readings:
  case_air: -10 F
circuits:
  A2: {case_air: 3 F}
"""


@pytest.fixture
def trial(small_base: Rulebase) -> WhatIf:
    return WhatIf(small_base, backend="plain")


def changes(trial: WhatIf, name: str, value: str) -> list[str]:
    before = trial.standing()
    trial.set(name, value)
    return list(change_lines(before, trial.standing()))


def test_a_line_tells_the_states_signs_and_findings_that_changed(trial: WhatIf) -> None:
    assert changes(trial, "case_fans", "all stopped") == []
    assert changes(trial, "case_air", "12 F") == [
        "discharge air: very high, was unknown",
        "sign air_is_warm (the case air is warm): so, was not known",
        "found: Case fan motor dead, likely (0.75)  [fan-motor-dead]",
    ]
    assert changes(trial, "case_air", "-10 F") == [
        "discharge air: normal, was very high",
        "sign air_is_warm (the case air is warm): not so, was so",
        "no longer found: Case fan motor dead",
    ]


def test_a_reading_that_is_taken_away_is_unknown_again(trial: WhatIf) -> None:
    trial.set("case_air", "12 F")
    before = trial.standing()
    trial.unset("case_air")
    lines = list(change_lines(before, trial.standing()))
    assert lines[0] == "discharge air: unknown, was very high"


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("case_iar", "12 F", "Did you mean 'case_air'"),
        ("case_air", "12 psi", "temperature"),
        ("case_air", "900 F", "cannot be"),
        ("case_fans", "of", "none of the choices"),
        ("defrost", "steam", "is no defrost"),
        ("refrigerant", "R-9", "R-9"),
    ],
)
def test_a_line_that_is_refused_changes_nothing(
    trial: WhatIf, name: str, value: str, says: str
) -> None:
    trial.set("case_air", "12 F")
    told = repr(trial.contents)
    with pytest.raises(ReadingError) as refused:
        trial.set(name, value)
    assert says in str(refused.value)
    assert "what-if" not in str(refused.value)
    assert repr(trial.contents) == told


def test_taking_away_what_is_not_set_is_refused(trial: WhatIf) -> None:
    with pytest.raises(ReadingError, match="is not set"):
        trial.unset("case_air")


def test_facts_of_the_subject_can_be_set(trial: WhatIf) -> None:
    trial.set("defrost", "electric")
    trial.set("has", "[heat reclaim, mechanical subcooler]")
    subject = trial.standing().given.subject
    assert subject.facts["defrost"] == "electric"
    assert subject.has == ("heat reclaim", "mechanical subcooler")
    trial.unset("defrost")
    assert "defrost" not in trial.standing().given.subject.facts


def test_a_series_another_circuit_and_a_reading_before_a_change_can_be_set(trial: WhatIf) -> None:
    trial.set("case_air", "[-10 F at 2 min, 5 F at 8 min]")
    trial.set("A2.case_air", "3 F")
    trial.set("found.case_air", "12 F")
    told = trial.standing().given
    assert [reading.seconds for reading in told.readings if not reading.subject] == [120, 480]
    assert [member.id for member in told.members] == ["A2"]
    assert told.found is not None
    assert told.found[0].text == "12 F"


def test_it_can_begin_with_a_file(tmp_path: Path, small_base: Rulebase) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(FILE)
    trial = WhatIf.of_file(path, small_base, "us", "plain")
    assert {reading.quantity for reading in trial.standing().given.readings} == {
        "case_air", "case_fans",
    }  # fmt: skip


def test_a_file_with_a_wrong_reading_is_refused(tmp_path: Path, small_base: Rulebase) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(FILE.replace("-10 F", "-10 psi"))
    with pytest.raises(ReadingError):
        WhatIf.of_file(path, small_base, "us", "plain")
    with pytest.raises(PackError, match="no such file"):
        WhatIf.of_file(tmp_path / "none.yaml", small_base, "us", "plain")


def test_what_was_saved_leads_to_the_same(
    tmp_path: Path, small_base: Rulebase, trial: WhatIf
) -> None:
    for name, value in (
        ("case_air", "12 F"), ("case_fans", "all stopped"), ("A2.case_air", "3 F"),
        ("coil_pressure", "[10 psig at 1 min, 12 psig at 2 min]"), ("altitude", "1000 ft"),
    ):  # fmt: skip
        trial.set(name, value)
    path = tmp_path / "saved.yaml"
    trial.save(path)
    told = read_subject_file(path, small_base)
    now = trial.standing().given
    assert (told.readings, told.found) == (now.readings, now.found)
    assert told.subject.facts == now.subject.facts
    assert WhatIf.of_file(path, small_base, "us", "plain").standing().findings.keys() == {
        "fan-motor-dead"
    }


def test_what_is_known_is_shown_with_its_state_and_limit(trial: WhatIf) -> None:
    trial.set("case_air", "12 F")
    assert list(known_lines(trial.standing())) == [
        "case_air: 12.0 F +/- 1.0; very high, normal -15.0 to -5.0 F (common practice)",
        "sign air_is_warm: The case air is warm.",
    ]
