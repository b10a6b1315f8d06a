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
IN_OLD_ORDER = Path(__file__).parent / "search_in_old_order.jsonl"
CALL = "warm case\n12\nnothing known\n"


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


def test_jobs_recorded_in_the_old_order_are_resumed_read_and_reported(
    command: Command, tmp_path: Path
) -> None:
    """Hazards before the complaint, and the kind of plant at steps of its own before the search."""
    jobs = ("--jobs", str(tmp_path), "--engine", "plain")
    assert command("jobs", "import", str(IN_OLD_ORDER), "--jobs", str(tmp_path)).code == 0
    half, finished = "2026-11-30-C", "2026-11-30-C-2"
    resumed = command(
        "resume", half, *jobs, "--who", "A. Sample", "--plain",
        typed="fans one or more stopped\n\ny\n\n\nA. Sample\n",
    )  # fmt: skip
    assert resumed.code == 0, resumed.out + resumed.err
    for again in ("complains of", "Kind of condenser", "Look before you start"):
        assert again not in resumed.out, "what was answered is not asked again"
    assert "Evaporator fan stopped: almost certain." in resumed.out
    for job in (half, finished):
        told = command("report", job, *jobs, "--output", str(tmp_path / "report.md"))
        assert told.code == 0, told.err
        report = (tmp_path / "report.md").read_text(encoding="utf-8")
        assert "- **Kind of condenser**: air cooled" in report
        assert "### Evaporator fan stopped" in report
    assert "- Receiver in the liquid line: cannot be seen from here" in report


def test_a_reading_that_is_typed_before_the_search_waits_for_it(
    command: Command, tmp_path: Path
) -> None:
    begun = command(
        "diagnose", *PLANT, "--jobs", str(tmp_path), "--plain",
        typed="warm case\nsuction 12\n123\nnothing known\n\n",
    )  # fmt: skip
    told = " ".join(begun.out.split())
    assert "waits until the search begins" in told
    assert "Kept: 12.0 psig" in told, told


def test_the_kind_of_plant_is_asked_where_a_reading_hangs_on_it(
    command: Command, tmp_path: Path
) -> None:
    jobs = ("--jobs", str(tmp_path), "--plain", "--depth", "learning")
    rack = ("--on", "rack", *PLANT[2:])
    begun = command("diagnose", *rack, *jobs, typed="oil trips\ny\n2\ny\nnothing known\n")
    assert "Kind of condenser" not in begun.out
    begun = command("diagnose", *rack, *jobs, typed="head high\ny\ny\ny\nnothing known\n")
    asked = begun.out.partition("Kind of condenser")
    assert asked[1] and "hangs on it" in " ".join(asked[0].split())


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
        "diagnose", *chiller, "--jobs", str(tmp_path), typed=f"head high\ny\nnothing known\n{skips}"
    )
    assert "kind of condenser" not in begun.out.lower()
    asked = begun.out.lower()
    for foreign in ("condenser face", "frost on the coil", "receiver level", "defrost ended"):
        assert foreign not in asked, foreign
    assert "water" in asked
    wrong = command("diagnose", *chiller[:2], "--condenser", "wet", "--jobs", str(tmp_path))
    assert wrong.code == 2 and "--" in wrong.err
