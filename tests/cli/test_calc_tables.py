"""The tables and verdicts of `rackwalk calc`."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from expert.cli.frame.main import main
from expert.places import shipped

SITE = str(shipped("checklists") / "demo" / "site.yaml")
ADDITIONS = """\
refrigerant: R-449A
full_charge: 1200 lb
additions:
  - {on: 2026-01-10, added: 100 lb}
  - {on: 2026-04-20, added: 150 lb}
"""


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["calc", *words]) == 0
    return capsys.readouterr().out


def document(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    found = json.loads(told(capsys, *words, "--json"))
    assert isinstance(found, dict)
    return found


def test_a_refrigerant_is_told_with_its_sources(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(capsys, "refrigerants", "449a")
    assert "R-449A" in text
    assert "safety class: A1" in text
    assert "concentration limit" in text


def test_all_are_listed_and_available(capsys: pytest.CaptureFixture[str]) -> None:
    listed = json.loads(told(capsys, "refrigerants", "--json"))
    assert len(listed) == 48
    assert all(one["available"] for one in listed)


def test_the_chart_has_a_row_a_step_and_no_crooked_number(
    capsys: pytest.CaptureFixture[str],
) -> None:
    text = told(capsys, "chart", "R-449A", "--from", "-40F", "--to", "40F", "--step", "10F")
    firsts = [line[:6].strip() for line in text.splitlines()]
    shown = [first for first in firsts if first.lstrip("-").isdigit()]
    assert shown == [str(temperature) for temperature in range(-40, 41, 10)]
    assert "e-" not in text


def test_the_chart_is_drawn(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    told(capsys, "chart", "R-407F", "--svg", str(tmp_path / "chart.svg"))
    assert (tmp_path / "chart.svg").read_text(encoding="utf-8").startswith("<svg")


def test_the_lowest_own_set_point_governs_the_group(capsys: pytest.CaptureFixture[str]) -> None:
    found = document(capsys, "suction-group", "--site", SITE, "--rack", "A")
    circuits = found["circuits"]
    assert isinstance(circuits, list)
    lowest = min(circuits, key=lambda one: one["set_point"]["value"])
    assert found["governs"] == lowest["circuit"]
    assert found["set_point"] == lowest["set_point"]
    assert all(one["margin"]["value"] >= 0 for one in circuits)


def test_both_unit_systems_say_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("suction-group", "--site", SITE, "--rack", "B")
    us = document(capsys, *words)["set_point"]
    si = document(capsys, *words, "--units", "si")["set_point"]
    assert isinstance(us, dict)
    assert isinstance(si, dict)
    assert us["value"] * 0.0689475729 == pytest.approx(si["value"], abs=0.001)


def test_an_unknown_rack_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calc", "suction-group", "--site", SITE, "--rack", "Q"]) == 2
    assert "no rack 'Q'" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("pressure", "verdict"),
    [("220psig", "non-condensables"), ("191psig", "none shown"), ("150psig", "too low")],
)
def test_standing_pressure_ends_in_a_verdict(
    capsys: pytest.CaptureFixture[str], pressure: str, verdict: str
) -> None:
    found = document(
        capsys, "non-condensables", "R-404A", "--pressure", pressure, "--temperature", "86F",
        "--pressure-accuracy", "1psi", "--temperature-accuracy", "0.5F",
    )  # fmt: skip
    assert found["verdict"] == verdict


@pytest.mark.parametrize(
    ("levels", "verdict"),
    [
        ((300, 420, 450), "tight and dry"),
        ((300, 9000, 18000), "leak"),
        ((300, 4000, 4200), "water"),
    ],
)
def test_the_rise_of_a_vacuum_ends_in_a_verdict(
    capsys: pytest.CaptureFixture[str], levels: tuple[int, ...], verdict: str
) -> None:
    readings = [f"{level} micron at {15 * n} min" for n, level in enumerate(levels)]
    found = document(capsys, "standing-vacuum", *readings, "--warmest-pipe", "60F")
    assert found["verdict"] == verdict


def test_a_vacuum_reading_without_time_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["calc", "standing-vacuum", "300 micron", "--warmest-pipe", "60F"]) == 4
    assert "lacks its time" in capsys.readouterr().err


def test_cycle_figures_agree_with_the_worked_case(capsys: pytest.CaptureFixture[str]) -> None:
    """Case CY10: R-404A, -20 F to 105 F dew, superheat 20 F, subcooling 10 F, efficiency 70 %."""
    found = document(
        capsys, "cycle", "R-404A", "--evaporating-pressure", "30.7psia", "--condensing-pressure",
        "266.79psia", "--superheat", "20F", "--subcooling", "10F", "--isentropic-efficiency", "70%",
    )  # fmt: skip
    for name, value in (
        ("refrigerating_effect", 46.55),
        ("compression_work", 28.46),
        ("coefficient_of_performance", 1.635),
    ):
        result = found[name]
        assert isinstance(result, dict)
        assert result["value"] == pytest.approx(value, rel=0.005)


def test_three_defrosts_stand_side_by_side(capsys: pytest.CaptureFixture[str]) -> None:
    text = told(
        capsys, "defrost-energy", "--frost-heat", "4000Btu", "--coil-heat", "3000Btu",
        "--gas-useful-share", "50%", "--heater-useful-share", "40%", "--performance", "1.5",
        "--fan-power", "300W", "--off-cycle-time", "40min",
    )  # fmt: skip
    assert all(text.count(f"{name}: ") for name in ("hot gas", "electric", "off cycle"))
    assert "kWh" in text


def test_both_leak_rates_their_clocks_and_the_notice(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "additions.yaml"
    path.write_text(ADDITIONS, encoding="utf-8")
    found = document(capsys, "leak-rate", str(path))
    rates = found["rates"]
    assert isinstance(rates, list)
    assert [round(one["rate"]["value"], 3) for one in rates] == [45.625, 20.833]
    assert found["clocks"]["repair_by"] == "2026-05-20"  # type: ignore[index]
    assert "local rules decide" in str(found["notice"])


def test_twenty_per_cent_is_not_over_twenty_per_cent(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "additions.yaml"
    known = ADDITIONS.replace("150 lb", "140 lb") + "known_since: 2025-01-01\n"
    path.write_text(known, encoding="utf-8")
    rates = document(capsys, "leak-rate", str(path))["rates"]
    assert isinstance(rates, list)
    rolling = rates[1]
    assert rolling["rate"]["value"] == 20.0
    assert rolling["over"] is False


def test_a_wrong_date_says_where(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "additions.yaml"
    path.write_text(ADDITIONS.replace("2026-04-20", "20.4.2026"), encoding="utf-8")
    assert main(["calc", "leak-rate", str(path)]) == 3
    assert f"{path}:5:" in capsys.readouterr().err


def test_saturation_needs_neither_coolprop_nor_numpy() -> None:
    code = (
        "import sys; from expert.cli.frame.main import main; "
        "main(['calc', 'superheat', 'R-449A', '--pressure', '12', '--line-temperature', '2']); "
        "assert not {'CoolProp', 'numpy'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_seasonal_addition_puts_back_what_was_removed_and_says_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "additions.yaml"
    seasonal = "{on: 2026-10-01, added: 60 lb, reason: seasonal variance"
    path.write_text(f"{ADDITIONS}  - {seasonal}}}\n", encoding="utf-8")
    assert main(["calc", "leak-rate", str(path)]) == 3
    assert "what was removed before" in capsys.readouterr().err
    removed = f"{seasonal}, removed: 60 lb, removed_on: 2026-04-01}}"
    path.write_text(f"{ADDITIONS}  - {removed}\n", encoding="utf-8")
    assert "No leak rate is asked for: seasonal variance" in told(capsys, "leak-rate", str(path))
    path.write_text(f"{ADDITIONS}  - {removed}\n".replace("60 lb, removed_on", "50 lb, removed_on"))
    assert document(capsys, "leak-rate", str(path))["rates"]
