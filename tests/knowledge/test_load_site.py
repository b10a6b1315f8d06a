"""A site file: racks and circuits with what they inherit, and refusals with places."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.errors import PackError
from expert.knowledge.load_site import load_site, parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped

SITE = """\
site:
  name: Here
  invented: yes
  altitude: 5280 ft
  values: {setting: 50 F}
  limits:
    clearing_time: {normal: at most 30 min, source: "site: legend"}
racks:
  - id: A
    refrigerant: r449a
    application: low temperature
    defrost: hot gas
    limits:
      differential: {normal: 14 to 18 psi, source: "site: legend"}
    circuits:
      - id: A1
        case_type: doors
        values: {setting: 60 F}
        limits:
          differential: {normal: 12 to 14 psi, source: "site: note"}
      - id: A2
        defrost: electric
  - id: B
    refrigerant: R-407A
    application: medium temperature
"""


def site(tiny: Rulebase, *changes: str) -> Site:
    text = SITE
    for old, new in zip(changes[::2], changes[1::2], strict=True):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_site(text, "site.yaml", tiny)


def test_a_circuit_inherits_facts_and_the_nearest_value_wins(tiny: Rulebase) -> None:
    circuit = site(tiny).subjects["A1"]
    assert circuit.facts == {
        "application": "low temperature", "defrost": "hot gas", "refrigerant": "R-449A",
        "case_type": "doors",
    }  # fmt: skip
    assert circuit.values["setting"].text == "60 F"
    assert circuit.altitude == pytest.approx(1609.344)


def test_a_circuit_without_a_value_has_that_of_the_site(tiny: Rulebase) -> None:
    other = site(tiny).subjects["A2"]
    assert other.values["setting"].value == pytest.approx(283.15)
    assert other.facts["defrost"] == "electric"


def test_the_nearest_limit_wins_and_the_others_are_kept(tiny: Rulebase) -> None:
    limits = {limit.quantity: limit for limit in site(tiny).subjects["A1"].limits}
    assert str(limits["differential"].source) == "site: note"
    assert limits["clearing_time"].high == pytest.approx(1800.0)


def test_a_site_limit_keeps_the_reasons_not_to_judge_of_the_rulebase(tiny: Rulebase) -> None:
    (limit,) = [x for x in site(tiny).subjects["A1"].limits if x.quantity == "differential"]
    assert [str(condition) for condition in limit.cannot_judge_when] == ["valve is shut"]


def test_a_fact_of_one_rack_is_not_a_fact_of_another(tiny: Rulebase) -> None:
    assert "defrost" not in site(tiny).subjects["B"].facts


def test_the_members_of_a_rack_are_its_own(tiny: Rulebase) -> None:
    found = site(tiny)
    assert [each.id for each in found.members(found.subjects["A"])] == ["A1", "A2"]
    assert found.members(found.subjects["B"]) == ()


GROUPS = """\
site: {name: Here, altitude: 500 ft}
racks:
  - id: A
    refrigerant: R-448A
    values: {setting: 50 F}
    limits:
      differential: {normal: 14 to 18 psi, source: "site: legend"}
  - id: LT
    group_of: A
    application: low temperature
    circuits: [{id: F1}]
  - id: MT
    group_of: A
    application: medium temperature
    values: {setting: 60 F}
    circuits: [{id: D1}]
"""


def test_two_suction_groups_stand_on_one_condenser(tiny: Rulebase) -> None:
    found = parse_site(GROUPS, "site.yaml", tiny)
    on = found.subjects
    assert [each.id for each in found.members(on["A"])] == ["F1", "D1"]
    assert [each.id for each in found.members(on["MT"])] == ["D1"]
    assert found.above(on["D1"]) == ("MT", "A", "site")
    assert on["D1"].facts == {"refrigerant": "R-448A", "application": "medium temperature"}
    assert "application" not in on["A"].facts
    assert (on["F1"].values["setting"].text, on["D1"].values["setting"].text) == ("50 F", "60 F")
    assert [each.quantity for each in on["LT"].limits] == ["differential"]


def test_what_is_written_with_several_circuits_or_groups_is_no_single_unit(
    shipped_rulebase: Rulebase,
) -> None:
    text = """\
site: {name: Two groups (invented), altitude: 700 ft}
racks:
  - {id: B, refrigerant: R-448A, values: {head_control: split and hold-back, liquid_lift: 12 ft}}
  - {id: BL, group_of: B, application: low temperature, circuits: [{id: F1}]}
  - {id: BM, group_of: B, application: medium temperature, circuits: [{id: D1}]}
  - id: C
    refrigerant: not known
    application: not known
    circuits: [{id: C1, case_type: dairy}, {id: C2}]
  - {id: U, refrigerant: R-448A, application: medium temperature, circuits: [{id: U1}]}
"""
    on = parse_site(text, "site.yaml", shipped_rulebase).subjects
    kinds = {name: on[name].values.get("plant_kind") for name in ("B", "BL", "D1", "C2", "U1")}
    said = {name: value.value if value else None for name, value in kinds.items()}
    assert said == {**dict.fromkeys(("B", "BL", "D1", "C2"), "parallel rack"), "U1": None}
    assert not on["C2"].facts and "what_it_cools" not in on["C2"].values
    assert on["C1"].values["what_it_cools"].value == "cases and cold rooms"
    assert on["F1"].values["liquid_lift"].text == "12 ft"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("id: MT\n    group_of: A", "id: MT\n    group_of: B", "No rack 'B' stands above"),
        ("    group_of: A\n    application: medium", "    application: medium", "'refrigerant'"),
        ("    refrigerant: R-448A\n", "", "'refrigerant'"),
    ],
)
def test_a_group_of_nothing_is_refused(old: str, new: str, says: str, tiny: Rulebase) -> None:
    assert GROUPS.count(old) == 1
    with pytest.raises(PackError, match=says):
        parse_site(GROUPS.replace(old, new), "site.yaml", tiny)


@pytest.mark.parametrize(
    ("old", "new", "place", "says"),
    [
        ("altitude: 5280 ft", "altitude: 5280", (4, 13), "'5280 ft'"),
        ("altitude: 5280 ft", "altitude: 90000 ft", (4, 13), "must lie between"),
        ("  altitude: 5280 ft\n", "", (2, 3), "lacks 'altitude'"),
        (
            "refrigerant: r449a",
            "refrigerant: R-44",
            (10, 18),
            "No refrigerant called 'R-44' is carried",
        ),
        ("application: low temperature", "application: low", (11, 18), "low temperature"),
        ("defrost: electric", "defrost: electrics", (22, 18), "'electric'"),
        ("id: A2", "id: A1", (21, 13), "already there"),
        ("id: B", "id: site", (23, 9), "already there"),
        ("values: {setting: 60 F}", "values: {seting: 60 F}", (18, 18), "'setting'"),
        ("values: {setting: 60 F}", "values: {setting: 60}", (18, 27), "'60 F'"),
        ("values: {setting: 60 F}", "values: {setting: 600 F}", (18, 27), "cannot be"),
        ("values: {setting: 60 F}", "values: {setting: ''}", (18, 27), "empty"),
        ("values: {setting: 60 F}", "values: {valve: open}", (18, 18), "no place in a site file"),
        (
            "values: {setting: 60 F}",
            "values: {differential: 16 psi}",
            (18, 18),
            "computed, not set",
        ),
        ("values: {setting: 60 F}", "values: [setting]", (18, 17), "'quantity: value'"),
        ('source: "site: note"', "source: from memory", (20, 56), "starts with 'site:'"),
        ("normal: 12 to 14 psi,", "applies: {}, normal: 12 to 14 psi,", (20, 26), "'applies'"),
        ("normal: 12 to 14 psi,", "normal: '',", (20, 26), "empty"),
        ("normal: 12 to 14 psi,", "normal: 12 to 14 F,", (20, 34), "temperature"),
        (
            "normal: 12 to 14 psi,",
            "normal: 12 to 14 psi, cannot_judge_when: [differential is low],",
            (20, 68),
            "need no limit",
        ),
        (
            "normal: 12 to 14 psi,",
            "normal: 12 to 14 psi, cannot_judge_when: [slow],",
            (20, 68),
            "Only choices and comparisons",
        ),
        ("          differential:", "          valve:", (20, 18), "is no number"),
        ("circuits:", "circuit:", (15, 5), "'circuits'"),
    ],
)
def test_what_is_wrong_in_a_site_file_is_told_with_its_place(
    tiny: Rulebase, old: str, new: str, place: tuple[int, int], says: str
) -> None:
    with pytest.raises(PackError) as refused:
        site(tiny, old, new)
    problem = refused.value.problems[0]
    assert (problem.place.line, problem.place.column) == place, str(problem)
    assert says in f"{problem.message} {problem.hint}"


def test_a_site_file_that_is_not_there_is_named(tmp_path: Path, tiny: Rulebase) -> None:
    with pytest.raises(PackError, match=r"none\.yaml: There is no such file"):
        load_site(tmp_path / "none.yaml", tiny)


def test_the_shipped_demonstration_store_is_sound_and_says_that_it_is_invented(
    shipped_rulebase: Rulebase,
) -> None:
    store = load_site(shipped("checklists") / "demo" / "site.yaml", shipped_rulebase)
    assert store.invented
    assert store.subjects["site"].altitude > 300
    racks = [each for each in store.subjects.values() if each.kind == "rack"]
    assert {rack.facts["application"] for rack in racks} == {
        "low temperature",
        "medium temperature",
    }
    sizes = [sum(m.kind == "circuit" for m in store.members(rack)) for rack in racks]
    assert sum(size >= 6 for size in sizes) >= 2
