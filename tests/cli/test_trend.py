"""`rackwalk trend` from the outside: words, documents, files, exit codes."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path
from typing import Any

import pytest

from expert.cli.frame.main import main
from expert.places import shipped

DEMO = Path(shipped("checklists")) / "demo"
LOG, SITE = str(DEMO / "log-sample.csv"), str(DEMO / "site.yaml")


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    def call(*words: str) -> tuple[int, str, str]:
        code = main(("trend", *words))
        told = capsys.readouterr()
        return code, told.out, told.err

    return call


def test_the_sample_log_in_words_with_a_report_and_a_table(run: Any, tmp_path: Path) -> None:
    report, table = tmp_path / "out" / "report.md", tmp_path / "defrosts.csv"
    code, out, err = run(LOG, "--site", SITE, "--report", str(report), "--csv", str(table))
    assert (code, err) == (0, "")
    assert "Defrost differential regulator set too low" in out
    assert re.search(r"Limits used:\n.*normal", out)
    assert "site: store legend (invented)" in out  # the site's own limit was used, and says so
    overview = out.split("\n\n")[1].splitlines()
    assert max(map(len, overview)) <= 40
    healthy = out[out.index("\nA5 ") :]
    assert "No finding." in healthy
    assert "# Defrosts in the log of Tamarack Hollow Market (invented)" in report.read_text()
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert {row["circuit"] for row in rows} == {"A4", "A5"}
    # fail-safe at 28 min, samples a minute or two apart
    assert all(8 < float(row["defrost_time [min]"]) < 32 for row in rows)


def test_json_in_si_for_one_circuit_and_some_days(run: Any) -> None:
    code, out, _ = run(
        LOG, "--site", SITE, "--subject", "a5", "--since", "2026-03-02", "--until",
        "2026-03-04T12:00", "--json", "--units", "si",
    )  # fmt: skip
    assert code == 0
    document = json.loads(out)
    (circuit,) = document["circuits"]
    assert circuit["subject"] == "A5"
    assert circuit["findings"] == []
    assert 3 <= circuit["defrosts"] <= 6
    ended = circuit["usual"]["termination_sensor_reading"]
    assert ended["unit"] == "C"
    assert 10 < ended["value"] < 15
    assert document["log"]["from"].startswith("2026-03-02 00:0")


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ((LOG, "--site", SITE, "--subject", "A44"), 2, "Did you mean 'A4'?"),
        ((LOG, "--site", SITE, "--since", "monday"), 2, "--since: 'monday' is no time"),
        ((LOG, "--site", SITE, "--since", "2027-01-01"), 4, "no rows"),
        (("nowhere.csv", "--site", SITE), 4, "Cannot read nowhere.csv"),
        ((LOG, "--site", "nowhere.yaml"), 3, "nowhere.yaml"),
        ((SITE, "--site", SITE), 4, "there is no column 'Time'"),
    ],
)
def test_what_cannot_work_is_told_in_a_sentence(
    run: Any, words: tuple[str, ...], code: int, says: str
) -> None:
    got, out, err = run(*words)
    assert (got, out) == (code, "")
    assert says in err


def test_a_word_in_a_column_is_told_with_line_column_and_what_was_expected(
    run: Any, tmp_path: Path
) -> None:
    lines = Path(LOG).read_text(encoding="utf-8").splitlines()
    lines[9] = re.sub(r",-?[\d.]+$", ",frozen", lines[9])
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    code, _, err = run(str(path), "--site", SITE)
    assert code == 4
    assert f"{path}:10: column 'A5 air': 'frozen' cannot be read; expected a number in F" in err


def test_a_site_without_the_section_is_told(run: Any, tmp_path: Path) -> None:
    site = tmp_path / "site.yaml"
    site.write_text(Path(SITE).read_text(encoding="utf-8").split("\nlog:")[0], encoding="utf-8")
    code, _, err = run(LOG, "--site", str(site))
    assert code == 2
    assert "has no 'log' section" in err
