"""`rackwalk resume`, `rackwalk jobs` and `rackwalk report`."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

from expert.store.jobs import JobStore

from .small_job import LABEL, SMALL, WALK, Command, lines, resume_words, run_words


def test_without_a_name_the_latest_unfinished_job_goes_on(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path, subject="A2"), typed="y\n")
    command(*run_words(tmp_path, subject="A1"), typed="y\n\n190\n")
    command(*run_words(tmp_path, subject="A2"), typed=lines())
    done = command(*resume_words(tmp_path))
    assert LABEL.findall(done.out)[0].startswith("4/")


def test_with_nothing_unfinished_it_says_so(command: Command, tmp_path: Path) -> None:
    done = command(*resume_words(tmp_path))
    assert done.code == 2
    assert "no unfinished job" in done.err


def test_an_unknown_job_is_refused_with_the_nearest(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed="y\n")
    done = command(*resume_words(tmp_path, "2026-A1"))
    assert done.code == 2
    assert "There is no job '2026-A1'." in done.err


def test_a_rulebase_that_has_changed_since_is_named(command: Command, tmp_path: Path) -> None:
    rules = tmp_path / "rules"
    shutil.copytree(SMALL / "rules", rules)
    words = [str(rules) if word == str(SMALL / "rules") else word for word in run_words(tmp_path)]
    command(*words, typed="y\n")
    text = (rules / "all.yaml").read_text(encoding="utf-8")
    changed = text.replace("version: 1.0", "version: 1.1", 1)
    assert changed != text
    (rules / "all.yaml").write_text(changed, encoding="utf-8")
    words = [
        str(rules) if word == str(SMALL / "rules") else word for word in resume_words(tmp_path)
    ]
    done = command(*words)
    told = " ".join(done.out.split())
    assert "Note: The rulebase has changed since this job began: then small 1.0" in told
    assert done.code == 5


def test_an_unchanged_rulebase_is_not_remarked_upon(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed="y\n")
    assert "has changed" not in command(*resume_words(tmp_path)).out


def test_a_job_that_another_program_holds_is_refused(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed="y\n")
    with JobStore(tmp_path / "jobs.db") as other:
        other.hold(other.jobs()[0].id)
        done = command(*resume_words(tmp_path))
    assert done.code == 2
    assert "is open in another program" in done.err


def test_a_job_can_be_taken_over(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed="y\n")
    with JobStore(tmp_path / "jobs.db") as other:
        other.hold(other.jobs()[0].id)
        done = command(*resume_words(tmp_path, "--take-over"))
    assert done.code == 5


def test_a_finished_job_can_be_reopened_at_a_step(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed=lines())
    job = _jobs(command, tmp_path)[0]["id"]
    typed = "3\n195\n\nA. Sample\n"
    done = command(*resume_words(tmp_path, str(job)), typed=typed)
    assert done.code == 0, done.out
    assert "Enter alone gives: 190" in done.out


def test_enter_leaves_a_finished_job_finished(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed=lines())
    before = _jobs(command, tmp_path)[0]
    assert command(*resume_words(tmp_path, str(before["id"])), typed="\n").code == 0
    assert _jobs(command, tmp_path)[0] == before


def test_jobs_lists_what_was_recorded(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed="y\n\n190\n")
    command(*run_words(tmp_path, subject="A2"), typed=lines())
    told = " ".join(command("jobs", "--jobs", str(tmp_path)).out.split())
    assert "small-checkout on A1, Test store; not finished" in told
    assert "small-checkout on A2, Test store; finished" in told


def test_jobs_as_json_say_when_and_by_which_rules(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path, "--who", "A. Sample"), typed="y\n")
    job = _jobs(command, tmp_path)[0]
    assert (job["checklist"], job["subject"], job["site"]) == ("small-checkout", "A1", "Test store")
    assert (job["who"], job["units"], job["finished"]) == ("A. Sample", "us", None)
    assert job["entries"] == 3  # how one is led, the caution, that one stopped
    assert len(str(job["rulebase_hash"])) == 64


def test_jobs_makes_no_file_where_there_is_none(command: Command, tmp_path: Path) -> None:
    assert command("jobs", "--jobs", str(tmp_path / "none")).code == 0
    assert not (tmp_path / "none").exists()


def test_a_report_can_be_written_of_an_unfinished_job(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed=lines(WALK[:5]))
    job = str(_jobs(command, tmp_path)[0]["id"])
    path = tmp_path / "own.md"
    done = command(
        "report", job, "--output", str(path), "--jobs", str(tmp_path),
        "--rulebase", str(SMALL / "rules"), "--checklist-file", str(SMALL / "checkout.yaml"),
    )  # fmt: skip
    assert done.last == f"Report: {path}"
    assert "upper header pressure" in path.read_text(encoding="utf-8").lower()


def test_a_report_goes_to_stdout_on_request(command: Command, tmp_path: Path) -> None:
    command(*run_words(tmp_path), typed=lines(WALK[:5]))
    job = str(_jobs(command, tmp_path)[0]["id"])
    done = command(
        "report", job, "--output", "-", "--jobs", str(tmp_path),
        "--rulebase", str(SMALL / "rules"), "--checklist-file", str(SMALL / "checkout.yaml"),
    )  # fmt: skip
    assert done.out.startswith("#")


def _jobs(command: Command, folder: Path) -> list[dict[str, object]]:
    found: list[dict[str, object]] = json.loads(
        command("jobs", "--jobs", str(folder), "--json").out
    )["jobs"]
    return found
