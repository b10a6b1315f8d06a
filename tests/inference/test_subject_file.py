"""A file of readings: what is taken, and refusals with places that name every line at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from shipped_knowledge import shipped_rules

from expert.errors import PackError, ReadingError
from expert.inference.subject_file import SubjectFile, read_subject_file
from expert.knowledge.model import Rulebase
from expert.units.measure import Measure

PSI = 6894.757293168
SITE = """\
site: {name: Here, altitude: 5280 ft}
racks:
  - id: A
    refrigerant: R-449A
    application: low temperature
    circuits: [{id: A1, defrost: hot gas, values: {setting: 50 F}}, {id: A2}]
"""


def told(tmp_path: Path, tiny: Rulebase, text: str, system: str = "us") -> SubjectFile:
    path = tmp_path / "readings.yaml"
    path.write_text(text, encoding="utf-8")
    (tmp_path / "site.yaml").write_text(SITE)
    return read_subject_file(path, tiny, system)


def refusal(tmp_path: Path, tiny: Rulebase, text: str) -> str:
    with pytest.raises(ReadingError) as refused:
        told(tmp_path, tiny, text)
    return str(refused.value)


def test_readings_may_stand_under_readings_or_at_the_top(tmp_path: Path, tiny: Rulebase) -> None:
    under = told(tmp_path, tiny, "readings: {clearing_time: 24 min, valve: open}")
    top = told(tmp_path, tiny, "clearing_time: 24 min\nvalve: open")
    assert under.readings == top.readings
    assert [r.quantity for r in top.readings] == ["clearing_time", "valve"]


def test_a_reading_has_the_accuracy_of_its_instrument(tmp_path: Path, tiny: Rulebase) -> None:
    (reading,) = told(tmp_path, tiny, "clearing_time: 24 min").readings
    assert isinstance(reading.value, Measure)
    assert reading.value.plus_minus == 60.0


def test_facts_and_altitude_are_taken(tmp_path: Path, tiny: Rulebase) -> None:
    text = (
        "title: Left case\nrefrigerant: r449a\napplication: low temperature\n"
        "defrost: hot gas\ncase_type: x\naltitude: 5280 ft\n"
    )
    subject = told(tmp_path, tiny, text).subject
    assert subject.title == "Left case"
    assert subject.facts == {
        "refrigerant": "R-449A", "application": "low temperature", "defrost": "hot gas",
        "case_type": "x",
    }  # fmt: skip
    assert subject.altitude == pytest.approx(1609.344)


def test_a_bare_altitude_is_in_the_unit_system_that_was_asked_for(
    tmp_path: Path, tiny: Rulebase
) -> None:
    assert told(tmp_path, tiny, "altitude: 1600", "si").subject.altitude == pytest.approx(1600.0)
    assert told(tmp_path, tiny, "altitude: 1600").subject.altitude == pytest.approx(487.68)


def test_bare_numbers_are_in_the_unit_system_that_was_asked_for(
    tmp_path: Path, tiny: Rulebase
) -> None:
    (us,) = told(tmp_path, tiny, "upper_pressure: 200").readings
    (si,) = told(tmp_path, tiny, "upper_pressure: 14", "si").readings
    assert us.value.value == pytest.approx(200 * PSI)  # type: ignore[union-attr]
    assert si.value.value == pytest.approx(14e5)  # type: ignore[union-attr]


def test_an_absolute_pressure_is_taken_with_the_barometer_of_the_altitude(
    tmp_path: Path, tiny: Rulebase
) -> None:
    (sea,) = told(tmp_path, tiny, "upper_pressure: 200 psia").readings
    (high,) = told(tmp_path, tiny, "altitude: 5280 ft\nupper_pressure: 200 psia").readings
    difference = high.value.value - sea.value.value  # type: ignore[union-attr]
    # U.S. Standard Atmosphere 1976: 83.4 kPa at one mile, 17.9 kPa below sea level
    assert difference == pytest.approx(17.9e3, rel=0.005)


def test_a_series_is_a_list_with_or_without_times(tmp_path: Path, tiny: Rulebase) -> None:
    series = told(tmp_path, tiny, "line_temperature: [10 F at 2 min, 12 F at 4 min, 20 F]").readings
    assert [r.seconds for r in series] == [120.0, 240.0, None]


def test_a_site_file_gives_facts_and_values(tmp_path: Path, tiny: Rulebase) -> None:
    found = told(tmp_path, tiny, "site: site.yaml\nsubject: A1\nclearing_time: 24 min")
    assert found.subject.facts["refrigerant"] == "R-449A"
    assert found.subject.values["setting"].text == "50 F"
    assert [member.id for member in found.members] == ["A1", "A2"]


def test_what_the_file_says_wins_over_the_site_file(tmp_path: Path, tiny: Rulebase) -> None:
    found = told(tmp_path, tiny, "site: site.yaml\nsubject: A1\ndefrost: electric\naltitude: 0 ft")
    assert found.subject.facts["defrost"] == "electric"
    assert found.subject.altitude == 0.0


def test_every_refusal_of_a_file_is_told_at_once_with_its_place(
    tmp_path: Path, tiny: Rulebase
) -> None:
    text = refusal(tmp_path, tiny, "upper_pressure: 900 psig\nvalve: ajar\nclearing_time: 24 F\n")
    assert ":1:17: upper_pressure: 900.0 psig cannot be" in text
    assert ":2:8: valve: 'ajar' is none of the choices. Choose: 1 open" in text
    assert ":3:16: clearing_time: '24 F': F is a unit of temperature" in text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "clearing_tme: 24 min",
            ":1:1: 'clearing_tme' is not a known quantity. Did you mean 'clearing_time'?",
        ),
        ("refrigerent: R-449A", "Did you mean 'refrigerant'?"),
        ("zzz: 1", "'rackwalk quantities' lists the names."),
        ("valve: unknown", "is no answer"),
        ("valve:", "Nothing was typed"),
        ("clearing_time: {value: 24 min}", "must be one value, or a list"),
        ("clearing_time: [[24 min]]", "must be one value, or a list"),
        ("readings: 24", "'quantity: value'"),
        ("readings:", "'quantity: value'"),
        ("refrigerant: R-44", "No refrigerant called 'R-44' is carried"),
        ("application: low", "is no application"),
        ("altitude: 90000 ft", "must lie between"),
        ("altitude: high", "is not a number"),
        ("- a", "must be 'name: value' lines"),
        ("", "The file is empty"),
        ("a: [", "[yaml-syntax]"),
        ("valve: open\nvalve: shut", "stands here a second time"),
        ("valve: open\nreadings: {valve: shut}", "a second time"),
        ("site: site.yaml\nsubject: A9", "Did you mean 'A"),
        ("site: site.yaml", "The site has no ''"),
        ("site: ''", "'site' names no file"),
        ("circuits: [A2]", "'quantity: value'"),
    ],
)
def test_what_is_wrong_with_a_file_of_readings_is_a_matter_of_readings(
    tmp_path: Path, tiny: Rulebase, text: str, says: str
) -> None:
    assert says in refusal(tmp_path, tiny, text)


def test_a_file_that_is_not_there_is_named(tmp_path: Path, tiny: Rulebase) -> None:
    with pytest.raises(ReadingError, match=r"none\.yaml: There is no such file"):
        read_subject_file(tmp_path / "none.yaml", tiny)


def test_what_is_wrong_with_the_site_file_is_told_of_the_site_file(
    tmp_path: Path, tiny: Rulebase
) -> None:
    with pytest.raises(PackError, match=r"elsewhere\.yaml"):
        told(tmp_path, tiny, "site: elsewhere.yaml\nsubject: A1")


def test_a_reading_may_say_how_it_was_taken(tmp_path: Path) -> None:
    rules = shipped_rules()
    path = tmp_path / "readings.yaml"
    path.write_text(
        "refrigerant: R-449A\n"
        "discharge_header_pressure: 215 psig by display\n"
        "suction_header_pressure: [12 psig at 2 min, 13 psig at 4 min by gauge manifold]\n",
        encoding="utf-8",
    )
    found = read_subject_file(path, rules).readings
    spreads = [(r.value.plus_minus or 0) / PSI for r in found if isinstance(r.value, Measure)]
    assert spreads == pytest.approx([4.3, 0.5, 2.0])
    assert [reading.way for reading in found] == ["display", "", "gauge-manifold"]
    assert [reading.seconds for reading in found] == [None, 120.0, 240.0]
