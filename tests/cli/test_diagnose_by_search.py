"""`rackwalk diagnose` without a file: a search that is a job like any other."""

from __future__ import annotations

from pathlib import Path

import pytest

from expert.places import shipped

from .small_job import Command

DEMO = shipped("checklists") / "demo"
PLANT = (
    "--on", "circuit", "--refrigerant", "R449A", "--application", "low", "--defrost", "hot gas",
    "--altitude", "0 ft", "--who", "A. Sample", "--engine", "plain",
)  # fmt: skip
CALL = "12\nwarm case\nnothing known\nair cooled\nyes\n"


def test_a_search_without_a_site_file_is_kept_resumed_and_reported(
    command: Command, tmp_path: Path
) -> None:
    jobs = ("--jobs", str(tmp_path))
    begun = command("diagnose", *PLANT, *jobs, typed=f"{CALL}outside 82\n")
    assert begun.code == 5
    assert "Why this next:" in begun.out and "Kept: 82.0 F" in begun.out
    resumed = command(
        "resume", *jobs, "--engine", "plain", "--who", "A. Sample",
        typed="fans one or more stopped\n\ny\n\n\nA. Sample\n",
    )  # fmt: skip
    assert resumed.code == 0, resumed.out + resumed.err
    assert "Evaporator fan stopped: almost certain." in resumed.out
    assert "warm-case-triage), on C" in " ".join(resumed.out.split())
    job = next((tmp_path / "reports").glob("*.md")).stem
    assert f"rackwalk run warm-case-triage --from {job} --subject C" in resumed.out
    report = (tmp_path / "reports" / f"{job}.md").read_text(encoding="utf-8")
    assert "### Evaporator fan stopped" in report and "**Outdoor temperature**" in report
    for view in ("customer", "office"):
        told = command("report", job, *jobs, "--view", view, "--engine", "plain")
        assert told.code == 0, told.err


def test_the_next_job_begins_with_what_was_read(command: Command, tmp_path: Path) -> None:
    jobs = ("--jobs", str(tmp_path), "--engine", "plain")
    site = ("--site", str(DEMO / "site.yaml"), "--subject", "B")
    answers = ("--answers", str(DEMO / "find-the-fault.b-dirty-face.answers.yaml"))
    searched = command("diagnose", *site, *answers, *jobs)
    assert searched.code == 0, searched.err
    words = next(
        line for line in searched.out.splitlines() if line.startswith("rackwalk run")
    ).split()[1:]
    words = words[: words.index("--jobs")]
    begun = command(
        *words,
        *jobs,
        "--depth",
        "learning",
        "--who",
        "A. Sample",
        typed="1\n" * 3 + "y\ny\ny\n\n\n",
    )
    assert begun.code == 5
    told = " ".join(begun.out.split())
    assert "Enter alone gives: weather turned hot" in told
    assert "Kept: weather turned hot" in told


def test_what_is_missing_of_a_plant_or_wrong_is_said(command: Command, tmp_path: Path) -> None:
    jobs = ("--jobs", str(tmp_path))
    assert command("diagnose", *jobs).code == 2
    wrong = command("diagnose", *PLANT[:2], "--refrigerant", "R-449X", *jobs)
    assert wrong.code == 2 and "--refrigerant" in wrong.err
    assert command("diagnose", *PLANT, *jobs, "--json").code == 2
    assert command("run", "warm-case-triage", *jobs).code == 2


@pytest.mark.parametrize("units", ["us", "si"])
def test_forty_columns_and_both_systems(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, units: str
) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    done = command(
        "diagnose", *PLANT, "--jobs", str(tmp_path), "--plain", "--units", units,
        typed=f"{CALL}enough\n",
    )  # fmt: skip
    shown = done.out.partition("Step 4")[2]
    told = [line for line in shown.splitlines() if "rackwalk resume" not in line]
    assert all(len(line) <= 40 for line in told), told


def test_the_kind_of_plant_is_told_by_options_and_nothing_foreign_is_asked(
    command: Command, tmp_path: Path
) -> None:
    chiller = (
        "--on", "single unit", "--cools", "liquid", "--condenser", "water", "--receiver", "no",
        "--refrigerant", "R-134a", "--application", "medium", "--defrost", "not known",
        "--altitude", "0 ft", "--who", "A. Sample", "--engine", "plain", "--plain",
    )  # fmt: skip
    skips = "".join(f"s\nnot here {n}\n" for n in range(12))
    begun = command(
        "diagnose", *chiller, "--jobs", str(tmp_path), typed=f"y\nhead high\nnothing known\n{skips}"
    )
    assert "kind of condenser" not in begun.out.lower()
    asked = begun.out.lower()
    for foreign in ("condenser face", "frost on the coil", "receiver level", "defrost ended"):
        assert foreign not in asked, foreign
    assert "water" in asked
    wrong = command("diagnose", *chiller[:2], "--condenser", "wet", "--jobs", str(tmp_path))
    assert wrong.code == 2 and "--" in wrong.err
