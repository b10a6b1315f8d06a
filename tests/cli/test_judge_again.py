"""`rackwalk audit --judge-again`: finished jobs under the rules at hand, also without columns."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from expert.cli.frame import progress
from expert.cli.frame.progress import Progress
from expert.cli.job.job_columns import can_use_columns, columns_folder
from expert.cli.jobs import judge_again
from expert.store.jobs import JobStore
from expert.store.paths import job_file

from .small_job import SMALL, Command, Printed, lines, run_words

TITLE = "Regulator set too low"
needs_columns = pytest.mark.skipif(not can_use_columns(), reason="pyarrow is not installed")


@pytest.fixture
def jobs(command: Command, tmp_path: Path) -> Path:
    """Two finished jobs, of one of which is known how it turned out, and one that goes on."""
    shutil.copytree(SMALL / "rules", tmp_path / "pack")
    (tmp_path / "pack" / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", tmp_path / "pack" / "checklists")
    for who, on in (("A. Sample", "A1"), ("B. Sample", "A2")):
        words = run_words(tmp_path / "jobs", "--who", who, subject=on)
        assert command(*words, typed=lines()).code == 0
    command(*run_words(tmp_path / "jobs", subject="A2"), typed="y\n\n190\n")
    said = command(
        "outcome", ids(tmp_path)[0], "--was", "yes", "--who", "A. Sample",
        "--jobs", str(tmp_path / "jobs"), *rules(tmp_path),
    )  # fmt: skip
    assert said.code == 0, said.err
    return tmp_path


def rules(folder: Path) -> tuple[str, str]:
    return "--rulebase", str(folder / "pack")


def ids(folder: Path) -> list[str]:
    with JobStore(job_file(folder / "jobs")) as store:
        return [each.id for each in store.jobs() if each.finished]


def again(command: Command, folder: Path, *words: str) -> Printed:
    return command("audit", "--judge-again", "--jobs", str(folder / "jobs"), *rules(folder), *words)


def document(command: Command, folder: Path, *words: str) -> dict[str, Any]:
    done = again(command, folder, "--json", *words)
    assert done.code == 0, done.err
    found: dict[str, Any] = json.loads(done.out)
    return found


def change(folder: Path, old: str, new: str) -> None:
    (path,) = (folder / "pack").glob("*.yaml")
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def test_under_the_rules_of_then_nothing_is_told_otherwise(command: Command, jobs: Path) -> None:
    found = document(command, jobs)
    assert (found["jobs"], found["from_columns"], found["not_judged"]) == (2, 0, 0)
    assert found["tables"]["judged_again"]["rows"] == []
    (row,) = found["tables"]["outcomes_again"]["rows"]
    assert row == {
        "cause": TITLE, "it_was": 1, "told_then": 1, "found_now": 1, "first_now": 1,
        "measured_again": 1, "gone": 1, "not_so": 0, "still_found": 0,
    }  # fmt: skip


def test_after_a_change_the_figures_are_those_of_the_rules_at_hand(
    command: Command, jobs: Path
) -> None:
    change(jobs, "15 to 20 psi", "5 to 12 psi")
    found = document(command, jobs)
    (told,) = found["tables"]["judged_again"]["rows"]
    assert (told["finding"], told["told"], told["judged_again"]) == (TITLE, 2, 0)
    (row,) = found["tables"]["outcomes_again"]["rows"]
    assert (row["it_was"], row["told_then"], row["found_now"], row["gone"]) == (1, 1, 0, 1)


@needs_columns
@pytest.mark.parametrize(
    "old, new, settled",
    [
        ("strong: 0.75", "strong: 0.3", 2),
        ("15 to 20 psi", "5 to 12 psi", 2),
        ("upper: upper_pressure, lower: lower_pressure",
         "upper: lower_pressure, lower: upper_pressure", 0),
    ],
)  # fmt: skip
def test_columns_come_to_the_same_figures(
    command: Command, jobs: Path, old: str, new: str, settled: int
) -> None:
    made = command("jobs", "columns", "--jobs", str(jobs / "jobs"), *rules(jobs))
    assert made.out.startswith("2 jobs are now in columns"), made.err
    change(jobs, old, new)
    found = document(command, jobs)
    assert found.pop("from_columns") == settled
    shutil.rmtree(columns_folder(job_file(jobs / "jobs")))
    expected = document(command, jobs)
    assert expected.pop("from_columns") == 0
    assert found == expected


@needs_columns
def test_a_damaged_file_is_told_and_its_jobs_are_judged_from_their_entries(
    command: Command, jobs: Path
) -> None:
    expected = document(command, jobs)
    command("jobs", "columns", "--jobs", str(jobs / "jobs"), *rules(jobs))
    (file,) = columns_folder(job_file(jobs / "jobs")).glob("*.parquet")
    file.write_bytes(file.read_bytes()[:-9])
    done = again(command, jobs, "--json")
    assert json.loads(done.out) == expected
    assert f"Columns {file.name} cannot be read" in done.err


def test_filters_ask_for_some_of_the_jobs(command: Command, jobs: Path) -> None:
    def count(*words: str) -> int:
        return int(document(command, jobs, *words)["jobs"])

    assert (count("--who", "B"), count("--who", "a. sample")) == (1, 1)
    assert (count("--subject", "A1"), count("--subject", "A2")) == (1, 1)
    assert (count("--since", "2999-01-01"), count("--checklist", "small")) == (0, 2)
    wrong = again(command, jobs, "--subject", "Z9")
    assert wrong.code == 2 and "no job has 'Z9'" in wrong.err
    assert "is no date" in again(command, jobs, "--since", "May").err


def test_jobs_of_another_checklist_are_told_and_not_counted(command: Command, jobs: Path) -> None:
    (jobs / "pack" / "checklists" / "checkout.yaml").unlink()
    found = document(command, jobs)
    assert (found["jobs"], found["not_judged"]) == (0, 2)
    assert "Not judged: 2" in again(command, jobs).out


def test_it_fits_forty_columns_and_has_no_jobs_to_begin_with(command: Command, jobs: Path) -> None:
    change(jobs, "15 to 20 psi", "5 to 12 psi")
    command.monkeypatch.setenv("COLUMNS", "40")
    done = again(command, jobs)
    assert done.code == 0 and "Outcomes, judged again" in done.out
    assert max(map(len, done.out.splitlines())) <= 40
    none = command("audit", "--judge-again", "--jobs", str(jobs / "empty"), *rules(jobs))
    assert (none.code, none.out.splitlines()[0]) == (0, "Jobs: none")


def test_files_are_written_of_the_same_tables(command: Command, jobs: Path) -> None:
    assert again(command, jobs, "--csv", str(jobs / "out")).code == 0
    assert {each.stem for each in (jobs / "out").iterdir()} == {"judged_again", "outcomes_again"}
    assert again(command, jobs, "--html", str(jobs / "out.html")).code == 0
    assert "Outcomes, judged again" in (jobs / "out.html").read_text(encoding="utf-8")


def test_how_far_it_is_shows_only_to_who_looks_on_and_after_a_second(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    clock = [100.0]
    monkeypatch.setattr(progress.time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: True, raising=False)
    tell = Progress("jobs")
    tell(10)
    assert capsys.readouterr().err == ""
    clock[0] += 1.5
    tell(2000, 5000)
    tell(2001, 5000)
    assert capsys.readouterr().err == "\r2,000 of 5,000 jobs"
    tell.end()
    assert capsys.readouterr().err == "\r" + 19 * " " + "\r"
    monkeypatch.setattr(progress.sys.stderr, "isatty", lambda: False, raising=False)
    clock[0] += 5
    tell(3000)
    tell.end()
    assert capsys.readouterr().err == ""


def test_jobs_are_looked_up_some_at_a_time(
    command: Command, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = document(command, jobs)
    monkeypatch.setattr(judge_again, "_AT_ONCE", 1)
    assert document(command, jobs) == expected
