"""A legend of a spreadsheet becomes circuits, and what cannot be meant is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.errors import ReadingError
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.sites.ask_store import Terms
from expert.sites.data import Data, text_of
from expert.sites.legend import LegendTaken, new_racks, take_in
from expert.sites.legend_columns import guess, meant
from expert.sites.legend_table import read_sheet

RACK = {"id": "A", "refrigerant": "R-448A", "application": "low temperature", "defrost": "hot gas"}
HEAD = "Rack,Ckt,Case line-up,Defrost,Fail-safe (min),Term \N{DEGREE SIGN}F,Our own"


def store() -> Data:
    return {"site": {"name": "Somewhere", "altitude": "0 ft"}, "racks": [dict(RACK)]}


def taken(rules: Rulebase, path: Path, text: str, encoding: str = "utf-8") -> LegendTaken:
    path.write_bytes(text.encode(encoding))
    terms = Terms(rules)
    sheet = read_sheet(path)
    return take_in(sheet, guess(sheet, terms), store(), terms, "A")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252", "utf-16"])
def test_a_spreadsheet_of_any_make_is_read(
    shipped_rulebase: Rulebase, tmp_path: Path, separator: str, encoding: str
) -> None:
    rows = "A,1,Frozen food doors,HG,20,55,x\r\n,2,Dairy,El,,,\r\n"
    text = f"Legend of a store\r\n\r\n{HEAD}\r\n{rows}"
    found = taken(shipped_rulebase, tmp_path / "a.csv", text.replace(",", separator), encoding)
    assert found.troubles == []
    assert found.circuits == ["A1", "A2"]
    site = parse_site(text_of(found.data), "made", shipped_rulebase)
    first, second = site.subjects["A1"], site.subjects["A2"]
    assert first.values["fail_safe_setting"].value == 1200
    assert first.values["termination_setting"].text == "55 F"
    assert (first.fact("defrost"), second.fact("defrost")) == ("hot gas", "electric")
    assert (first.fact("case_type"), second.fact("case_type")) == ("frozen food doors", "dairy")


def test_twenty_five_circuits_on_two_racks(shipped_rulebase: Rulebase, tmp_path: Path) -> None:
    rows = "".join(f"A,{n},Ice cream doors,HG,{15 + n},50,\n" for n in range(1, 26))
    found = taken(shipped_rulebase, tmp_path / "a.csv", f"{HEAD}\n{rows}")
    assert (len(found.circuits), found.values, found.troubles) == (25, 50, [])
    sheet = read_sheet(tmp_path / "a.csv")
    assert new_racks(sheet, guess(sheet, Terms(shipped_rulebase)), {"site": {}, "racks": []}) == {
        "A": {"defrost": "HG"}
    }


def test_what_a_cell_cannot_mean_is_told_with_its_line_and_the_rest_is_taken(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    text = (
        f"{HEAD}\nA,1,Doors,HG,twenty,55,\nA,,Doors,HG,20,55,\nZ,9,Doors,HG,20,55,\n"
        "A,1,Doors,warm,20,900,\n=cmd(),3,,,,,\n"
    )
    found = taken(shipped_rulebase, tmp_path / "a.csv", text)
    told = "\n".join(found.troubles)
    for part in (
        "line 2, column 'Fail-safe (min)': 'twenty' is not a number", "line 3: it has no circuit",
        "line 4: there is no rack 'Z'", "line 5: 'A1' stands in the legend twice",
        "line 5, column 'Defrost': 'warm' is no defrost", "line 5, column 'Term \N{DEGREE SIGN}F'",
        "line 6: there is no rack '=cmd()'",
    ):  # fmt: skip
        assert part in told
    assert found.circuits == ["A1"]


@pytest.mark.parametrize(
    "text", ["", "\n\n", "one column\nA1\n", "a,b\n", "\0\0,\0\n", "x" * 2_000_001]
)
def test_what_is_no_table_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(text)
    with pytest.raises(ReadingError):
        read_sheet(path)


def test_a_column_is_said_in_words(shipped_rulebase: Rulebase) -> None:
    terms = Terms(shipped_rulebase)
    assert meant("drip time setting", terms) == "drip_setting"
    assert meant("nothing", terms) == ""
    with pytest.raises(ReadingError, match="drip time setting"):
        meant("drip tiem setting", terms)


@pytest.mark.parametrize(
    ("header", "cell", "on", "quantity", "kept"),
    [
        ("Disch air (C)", "-22", "A1", "design_discharge_air", "-22 C"),
        ("Evap [F]", "-20", "A1", "wanted_coil_temperature", "-20 F"),
        ("Evap (psig)", "12", "A1", "wanted_coil_pressure", "12 psig"),
        ("SST, bar", "1.9", "A1", "wanted_coil_pressure", "1.9 bar"),
        ("Heater amps (A)", "24.5", "A1", "heater_plate_current", "24.5 A"),
        ("Load (Btu/h)", "12000", "A1", "design_load", "12000 Btu/h"),
        ("Load, kW", "3.5", "A1", "design_load", "3.5 kW"),
        ("Design TD (K)", "6", "A", "design_coil_temperature_difference", "6 K"),
        ("Cond TD \N{DEGREE SIGN}F", "10", "A", "design_condenser_difference", "10 F"),
        ("Set point psig", "8", "A", "suction_set_point", "8 psig"),
        ("Charge (kg)", "520", "A", "full_charge", "520 kg"),
    ],
)
def test_a_design_value_comes_in_with_the_unit_of_its_header(
    shipped_rulebase: Rulebase, tmp_path: Path, header: str, cell: str, on: str, quantity: str,
    kept: str,
) -> None:  # fmt: skip
    quoted = f'"{header}"'
    found = taken(shipped_rulebase, tmp_path / "a.csv", f"Ckt,Case,{quoted}\n1,Doors,{cell}\n")
    assert (found.troubles, found.values) == ([], 1)
    site = parse_site(text_of(found.data), "made", shipped_rulebase)
    assert site.subjects[on].values[quantity].text == kept


def test_a_load_in_words_is_what_the_circuit_cools(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    found = taken(shipped_rulebase, tmp_path / "a.csv", "Ckt,Load\n1,Dairy\n")
    assert found.data["racks"][0]["circuits"][0]["title"] == "Dairy"


def test_a_unit_of_another_kind_is_never_taken_for_a_figure(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    path = tmp_path / "a.csv"
    path.write_text("Ckt,Case,Term (psig)\n1,Doors,55\n", encoding="utf-8")
    sheet, terms = read_sheet(path), Terms(shipped_rulebase)
    assert guess(sheet, terms)["Term (psig)"] == ""
    columns = guess(sheet, terms) | {"Term (psig)": "termination_setting"}
    (trouble,) = take_in(sheet, columns, store(), terms, "A").troubles
    assert "'psig' is no unit of a termination setting" in trouble


def test_two_rows_that_differ_about_their_rack_are_told_and_the_first_stays(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    text = "Ckt,Case,Set point (psig)\n1,Doors,8\n2,Doors,0.5516 bar\n3,Doors,9\n"
    found = taken(shipped_rulebase, tmp_path / "a.csv", text)
    assert found.data["racks"][0]["values"] == {"suction_set_point": "8 psig"}
    (trouble,) = found.troubles
    assert "line 4" in trouble and "A has 8 psig from line 2 already" in trouble


def test_what_the_store_says_otherwise_is_told(shipped_rulebase: Rulebase, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text("Ckt,Case,Set point (psig)\n1,Doors,8\n", encoding="utf-8")
    sheet, terms = read_sheet(path), Terms(shipped_rulebase)
    data = store()
    data["racks"][0]["values"] = {"suction_set_point": "9 psig"}
    found = take_in(sheet, guess(sheet, terms), data, terms, "A")
    assert found.other == ["A, suction set point: 8 psig (the store says 9 psig)"]
    assert data["racks"][0]["values"] == {"suction_set_point": "9 psig"}
