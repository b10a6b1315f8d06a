"""Refrigerants that a company adds in its pack: in calculations, site files and jobs."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from shipped_knowledge import READ, load_over_shipped

from expert.cli.frame.main import main
from expert.errors import PackError
from expert.knowledge.load_site import parse_site
from expert.knowledge.read_refrigerants import carry_of_folder
from expert.physics.fluids import refrigerants
from expert.physics.fluids import saturation as tables
from expert.physics.fluids.refrigerants import refrigerant
from expert.physics.fluids.saturation import saturation
from expert.physics.frame.physics_errors import NotAvailable, OutOfRange
from expert.physics.leak_law.rules import leak_rules
from expert.places import shipped
from expert.units.kinds import FAHRENHEIT, FAHRENHEIT_ZERO, PSI

PACK = Path(__file__).parents[1] / "packs" / "own-refrigerants"
DEMO = shipped("checklists") / "demo"
ENTRY = """\
refrigerants:
  - id: r-497x
    designation: R-497X
    safety_class: A1
    gwp: 100
    {properties}
    source: from memory
"""
TABLE = (
    "saturation: [{temperature: 0 F, bubble: 40 psia}, {temperature: 40 F, bubble: 80 psia}, "
    "{temperature: 80 F, bubble: 150 psia}, {temperature: 120 F, bubble: 260 psia}]"
)


@pytest.fixture(autouse=True)
def forgotten() -> Iterator[None]:
    """What a test made known is not known to the next one."""
    yield
    refrigerants._COMPANY.clear()
    refrigerants.names.cache_clear()
    tables._OWN.clear()
    saturation.cache_clear()


def kelvin(fahrenheit: float) -> float:
    return fahrenheit * FAHRENHEIT + FAHRENHEIT_ZERO


def test_a_table_of_ones_own_is_met_at_its_lines_and_goes_no_further() -> None:
    carry_of_folder(PACK, READ)
    fluid = saturation("r499x")
    for fahrenheit, dew, bubble in ((-40, 15, 17), (40, 83, 90), (120, 281, 296)):
        assert fluid.dew_pressure(kelvin(fahrenheit)) == pytest.approx(dew * PSI)
        assert fluid.bubble_temperature(bubble * PSI) == pytest.approx(kelvin(fahrenheit))
    assert fluid.dew_pressure(kelvin(20)) == pytest.approx(57 * PSI, rel=0.02)
    with pytest.raises(OutOfRange, match="above the table"):
        fluid.dew_pressure(kelvin(125))
    with pytest.raises(NotAvailable, match="pressures only"):
        fluid.liquid_density(kelvin(20))


def test_a_composition_gives_the_blend_of_that_composition() -> None:
    """68.9 % R-32 and 31.1 % R-1234yf is R-454B; half of each lies between it and R-1234yf."""
    pytest.importorskip("CoolProp")
    carry_of_folder(PACK, READ)
    own, below, above = saturation("R-498"), saturation("R-454A"), saturation("R-454B")
    for fahrenheit in (-20, 20, 90):
        at = kelvin(fahrenheit)
        assert below.dew_pressure(at) < own.dew_pressure(at) < above.dew_pressure(at)
    assert refrigerant("R-498X").safety_class == "A2L"


def test_what_a_blend_contains_decides_which_law_covers_it() -> None:
    carry_of_folder(PACK, READ)
    covered = {name: leak_rules().programmes_for(name) for name in ("R-498X", "R-499X")}
    assert [one.id for one in covered["R-498X"]] == ["hydrofluorocarbon"]
    assert covered["R-499X"] == ()


def test_calculations_know_it_with_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["calc", "superheat", "R-499X", "--pressure", "68.3psia", "--line-temperature", "50F"]
    assert main([*words, "--rulebase", str(PACK), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert 15 < told["superheat"]["value"] < 25
    assert "company: data sheet 13" in told["source"]
    assert "CoolProp" not in told["source"]


def test_a_site_file_and_a_job_may_name_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (DEMO / "site.yaml").read_text("utf-8").replace("R-448A", "R-499X")
    site = tmp_path / "site.yaml"
    site.write_text(text, encoding="utf-8")
    base = load_over_shipped(PACK)
    assert parse_site(text, "site.yaml", base).subjects["A"].facts["refrigerant"] == "R-499X"
    readings = tmp_path / "readings.yaml"
    readings.write_text(
        "refrigerant: R-499X\napplication: medium temperature\n"
        "readings: {suction_header_pressure: 45 psig}\n", "utf-8"
    )  # fmt: skip
    assert main(["diagnose", str(readings), "--rulebase", str(PACK)]) == 0
    answers = DEMO / "hot-gas-defrost-checkout.a4-healthy.answers.yaml"
    words = ["run", "hot-gas-defrost-checkout", "--site", str(site), "--subject", "A4"]
    words += ["--answers", str(answers), "--rulebase", str(PACK), "--jobs", str(tmp_path)]
    code = main([*words, "--plain", "--report", str(tmp_path / "report.md")])
    out = capsys.readouterr()
    assert code == 0, out.err
    assert "R-499X" in (tmp_path / "report.md").read_text("utf-8")


@pytest.mark.parametrize(
    ("properties", "says"),
    [
        ("composition: {R-32: 50 %, R-125: 40 %}", "adds up to 90 %"),
        ("composition: {R-32: 50 %, R-999: 50 %}", "'R-999' is not known as a constituent"),
        ("use: racks", "has no properties"),
        ("saturation: [{temperature: 0 F, bubble: 40 psia}]", "at least 4 lines"),
        (TABLE.replace("80 psia", "30 psia"), "at higher pressures"),
        (TABLE.replace("bubble: 80 psia", "dew: 90 psia, bubble: 80 psia"), "never above"),
        (TABLE.replace("80 psia", "80"), "has no unit"),
    ],
)
def test_what_is_wrong_with_an_entry_is_told(tmp_path: Path, properties: str, says: str) -> None:
    pack = "pack: {name: own, version: 1.0.0, over: rackwalk-base}\n"
    (tmp_path / "pack.yaml").write_text(pack, encoding="utf-8")
    (tmp_path / "r.yaml").write_text(ENTRY.replace("{properties}", properties), encoding="utf-8")
    with pytest.raises(PackError, match=says):
        carry_of_folder(tmp_path, READ)


def test_a_carried_refrigerant_is_not_given_other_properties(tmp_path: Path) -> None:
    text = ENTRY.replace("R-497X", "R-449A").replace("{properties}", TABLE)
    (tmp_path / "r.yaml").write_text(f"pack: {{name: own, version: 1.0.0}}\n{text}", "utf-8")
    with pytest.raises(PackError, match="carried already"):
        carry_of_folder(tmp_path, READ)
