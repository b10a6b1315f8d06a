"""Logs of coarse samples, circuits without a defrost, electric and off-cycle faults."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from budget import NIGHTLY
from shipped_knowledge import shipped_rules

from expert.cli.frame.main import main
from expert.inference.evaluation_model import each_finding
from expert.knowledge.load_site import load_site
from expert.places import shipped
from expert.trend.judge_log import CircuitTrend, analyse, circuits_in
from expert.trend.table import read_table
from tests.trend.simulate import LoggedCircuit, store, write

RULES = shipped_rules()
DEMO = shipped("checklists") / "demo"


def trends_of(
    folder: Path, cases: list[LoggedCircuit], every: float, seed: int = 3
) -> dict[str, CircuitTrend]:
    write(folder, days=14, circuits=len(cases), seed=seed, every=every, cases=cases)
    site = load_site(folder / "site.yaml", RULES)
    assert site.log is not None
    table = read_table(folder / "log.csv", site.log, RULES.quantities)
    found = analyse(table, site, RULES, circuits_in(site, table), backend="plain")
    return {each.subject.id: each for each in found}


def causes(trend: CircuitTrend) -> set[str]:
    assert trend.evaluation is not None
    return {each.cause.id for each in each_finding(trend.evaluation.findings)}


@pytest.mark.parametrize("every", [1, 2.5, 5, 10, 15] if NIGHTLY else [10])
def test_healthy_circuits_have_no_finding_however_far_apart_the_samples(
    tmp_path: Path, every: float
) -> None:
    trends = trends_of(tmp_path, store(14, np.random.default_rng(8), ()), every, seed=8)
    assert len(trends) == 14
    assert {each: causes(trend) for each, trend in trends.items() if causes(trend)} == {}
    for each in trends.values():
        hot_gas = each.subject.facts["defrost"] == "hot gas"
        assert each.adherence.shows == (every <= (5 if hot_gas else 10))
        assert each.sampling.times == (every <= (2.5 if hot_gas else 5))
        if not each.sampling.times:
            assert {d.ended_by for d in each.defrosts} == {"unknown"}
            assert "drip_time" not in {r.quantity for r in each.readings} or each.adherence.shows


@pytest.mark.parametrize("every", [1, 2.5, 5] if NIGHTLY else [5])
def test_electric_and_off_cycle_faults_are_found(tmp_path: Path, every: float) -> None:
    faults = {
        "E2": ("electric", ""), "E3": ("electric", "missed"), "E4": ("electric", "too many"),
        "E5": ("electric", "heat weak"), "E6": ("electric", "no heat"),
        "B7": ("off cycle", ""), "B8": ("off cycle", "missed"), "B9": ("off cycle", "too many"),
    }  # fmt: skip
    cases = [LoggedCircuit("A1")]
    for name, (kind, fault) in faults.items():
        case = LoggedCircuit(name, kind, fault, per_day=2 if kind == "electric" else 4)
        case.columns = ("coil", "air", *(("state",) if fault == "no heat" else ()))
        if kind == "off cycle":
            case.air, case.below = 30.0, 11.0
        cases.append(case)
    trends = trends_of(tmp_path, cases, every)
    wanted = {
        "E3": "defrosts-missing", "E4": "defrosts-beyond-schedule", "E5": "ended-on-the-clock",
        "E6": "heater-supply-missing", "B8": "defrosts-missing", "B9": "defrosts-beyond-schedule",
    }  # fmt: skip
    for name, cause in wanted.items():
        assert cause in causes(trends[name]), name
    assert causes(trends["E2"]) == causes(trends["B7"]) == causes(trends["A1"]) == set()


def a5_coil(folder: Path, values: object) -> Path:
    """The demo log with other values in the coil column of A5."""
    text = (DEMO / "log-sample.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(text.splitlines()))
    at = rows[1].index("A5 coil")
    rng = np.random.default_rng(1)
    for row in rows[2:]:
        row[at] = "-17.0" if values == "stuck" else f"{-17 + rng.normal(0, 0.4):.1f}"
    path = folder / "log.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    return path


def test_no_defrost_in_the_log_is_the_finding(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = str(a5_coil(tmp_path, "cold"))
    assert main(["trend", log, "--site", str(DEMO / "site.yaml")]) == 0
    told = capsys.readouterr().out.partition("\nA5 Frozen")[2]
    assert "1. Defrosts of the schedule do not take place: very likely" in told
    site = (DEMO / "site.yaml").read_text(encoding="utf-8")
    without = tmp_path / "site.yaml"
    without.write_text(site.replace("      defrosts_per_day: 2 per day\n", ""), encoding="utf-8")
    assert main(["trend", log, "--site", str(without)]) == 0
    told = capsys.readouterr().out.partition("\nA5 Frozen")[2]
    assert "held against 1 a day" in told
    assert "Defrosts of the schedule do not take place" in told


def test_a_dead_sensor_leaves_its_defrosts_unknown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = str(a5_coil(tmp_path, "stuck"))
    assert main(["trend", log, "--site", str(DEMO / "site.yaml")]) == 0
    out = capsys.readouterr().out
    assert "A5       0    -  0/0/0      -     -    -" in out
    assert "Whether it had a defrost is unknown: a dead sensor or none at all" in out


def test_a_wrong_unit_is_asked_about_and_ends_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    site = tmp_path / "site.yaml"
    text = (DEMO / "site.yaml").read_text(encoding="utf-8")
    site.write_text(text.replace('coil", unit: F', 'coil", unit: K'), encoding="utf-8")
    assert main(["trend", str(DEMO / "log-sample.csv"), "--site", str(site)]) == 0
    assert "is K its unit?" in capsys.readouterr().out


def test_what_samples_do_not_show_is_said_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases = [LoggedCircuit("A1"), LoggedCircuit("A2"), LoggedCircuit("A3")]
    write(tmp_path, days=7, circuits=3, seed=1, every=10, cases=cases)
    files = [str(tmp_path / "log.csv"), "--site", str(tmp_path / "site.yaml")]
    assert main(["trend", *files]) == 0
    out = capsys.readouterr().out
    assert out.count("A sample every 10 min does not show it; one every 2.5 min would.") == 1
    assert out.count("A sample every 10 min does not show it; one every 5 min would.") == 1


def test_date_and_time_may_stand_in_two_columns(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (DEMO / "log-sample.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(text.splitlines()))[1:]
    two = [[*row[0].split(" "), *row[1:]] for row in rows]
    two[0][:1] = ["Date", "Clock"]
    with (tmp_path / "log.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(two)
    text = (DEMO / "site.yaml").read_text(encoding="utf-8")
    for clock, code in (("Clock", 0), ("Clok", 4)):
        site = tmp_path / "site.yaml"
        changed = text.replace("{column: Time,", f"{{column: Date, clock: {clock},")
        site.write_text(changed, encoding="utf-8")
        assert main(["trend", str(tmp_path / "log.csv"), "--site", str(site)]) == code
    out = capsys.readouterr()
    assert "A5       7 15.1  7/0/0" in out.out
    assert "there is no column 'Clok'" in out.err and "Did you mean 'Clock'?" in out.err
