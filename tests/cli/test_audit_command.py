"""`rackwalk audit`, through the command, on jobs that were walked here."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from expert.cli.job import open_job as opening
from expert.records.job_summary import VERSION
from expert.store.jobs import JobStore
from expert.store.summaries import kept_summaries

from .small_job import SMALL, WALK, Command, lines, resume_words, run_words

OPTIONS = ("--rulebase", str(SMALL / "rules"), "--engine", "plain")


@pytest.fixture
def jobs(command: Command, tmp_path: Path) -> Path:
    """One job that was finished and one that was stopped."""
    assert command(*run_words(tmp_path, "--who", "A. Sample"), typed=lines()).code == 0
    stopped = command(*run_words(tmp_path, "--who", "B. Sample"), typed=lines(WALK[:4]))
    assert stopped.code == 5
    return tmp_path


def summaries(jobs: Path) -> list[tuple[Any, ...]]:
    with closing(sqlite3.connect(jobs / "jobs.db")) as database:
        tables = "SELECT name FROM sqlite_master WHERE name = 'summary'"
        if not database.execute(tables).fetchall():
            return []
        return database.execute("SELECT job, entries FROM summary ORDER BY made").fetchall()


def test_a_finished_job_leaves_its_short_record_and_a_changed_one_another(
    command: Command, jobs: Path
) -> None:
    (first,) = summaries(jobs)
    done = command(*resume_words(jobs, str(first[0])), typed="3\n195\n\nA. Sample\n")
    assert done.code == 0, done.err
    kept = summaries(jobs)
    assert kept[0] == first
    assert [job for job, _ in kept] == [first[0]] * 2
    assert kept[1][1] > first[1]


def test_a_short_record_made_later_is_the_one_made_at_the_end_also_with_what_earlier_jobs_left(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    find = opening.find_checklist  # the small one is not among those that are shipped
    monkeypatch.setattr(
        opening, "find_checklist", lambda _, rules, pack: find(str(SMALL / "checkout.yaml"), rules)
    )
    first, later, file = tmp_path / "first", tmp_path / "later", tmp_path / "jobs.jsonl"
    found = lines((*WALK[:13], ("n",), ("all well",), ("",), ("A. Sample",)))
    assert command(*run_words(first, "--who", "A. Sample"), typed=found).code == 0
    again = command(*run_words(first, "--who", "A. Sample"), typed="still open\n" + found)
    assert "Left open by earlier jobs" in again.out
    assert command("jobs", "export", "--jobs", str(first), "--output", str(file)).code == 0
    assert command("jobs", "import", str(file), "--jobs", str(later)).code == 0
    assert summaries(later) == []
    assert command("audit", "--jobs", str(later), *OPTIONS).code == 0

    def kept(folder: Path) -> dict[str, str]:
        with JobStore(folder / "jobs.db") as store:
            return kept_summaries(store.database, VERSION)

    assert len(kept(first)) == 2
    assert kept(later) == kept(first)


def test_the_document(command: Command, jobs: Path) -> None:
    done = command("audit", "--jobs", str(jobs), "--json", *OPTIONS)
    assert done.code == 0 and done.err.startswith("rackwalk: Judged by small 1.0")
    found = json.loads(done.out)
    assert (found["jobs"], found["within"]) == (2, {"value": 90, "unit": "days"})
    assert set(found["tables"]) == {
        "procedures", "crews", "endings", "skips", "repeats", "overturned", "judged_again",
        "versions", "times", "compared", "outcomes_by_word", "outcomes_by_cause",
        "outcomes_confused", "outcomes_by_rule", "outcomes_proposals",
    }  # fmt: skip
    (row,) = found["tables"]["procedures"]["rows"]
    assert (row["jobs"], row["finished"], row["signed"]) == (2, 1, 1)
    assert (row["changes"], row["measured_again"]) == (1, 1)
    assert all(
        each["beside_the_others"] == "too few to compare"
        for each in found["tables"]["compared"]["rows"]
    )
    assert found == json.loads(command("audit", "--jobs", str(jobs), "--json", *OPTIONS).out)
    assert len(summaries(jobs)) == 2  # the unfinished one was summed up once and kept


def test_a_caution_that_was_not_reached_is_no_omission_and_who_signed_did_the_job(
    command: Command, tmp_path: Path
) -> None:
    assert command(*run_words(tmp_path), typed="").code == 5  # stopped before the first answer
    assert command(*run_words(tmp_path), typed=lines()).code == 0
    done = command("audit", "--jobs", str(tmp_path), "--json", *OPTIONS)
    crews = json.loads(done.out)["tables"]["crews"]["rows"]
    told = {each["crew"]: (each["cautions"], each["acknowledged"]) for each in crews}
    assert told["nobody named"] == (0, 0)
    assert told["A. Sample"][0] == told["A. Sample"][1] > 0
    named = command("audit", "--jobs", str(tmp_path), "--json", "--who", "A. Sample", *OPTIONS)
    assert json.loads(named.out)["jobs"] == 1


def test_filters_and_the_nearest_name(command: Command, jobs: Path) -> None:
    def count(*words: str) -> int:
        done = command("audit", "--jobs", str(jobs), "--json", *OPTIONS, *words)
        assert done.code == 0, done.err
        return int(json.loads(done.out)["jobs"])

    assert (count("--who", "a. sample"), count("--who", "B")) == (1, 1)
    assert (count("--since", "2999-01-01"), count("--until", "2000-01-01")) == (0, 0)
    assert count("--site", str(SMALL / "site.yaml")) == 2
    wrong = command("audit", "--jobs", str(jobs), "--who", "C. Sample", *OPTIONS)
    assert wrong.code == 2
    assert re.search(r"Did you mean '[AB]\. Sample'\?", wrong.err)
    assert "is no date" in command("audit", "--jobs", str(jobs), "--since", "May", *OPTIONS).err


def test_it_fits_forty_columns_and_has_no_jobs_to_begin_with(
    command: Command, jobs: Path, tmp_path: Path
) -> None:
    command.monkeypatch.setenv("COLUMNS", "40")
    done = command("audit", "--jobs", str(jobs), *OPTIONS)
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= 40
    none = command("audit", "--jobs", str(tmp_path / "empty"), *OPTIONS)
    assert (none.code, none.out.splitlines()[0]) == (0, "Jobs: none")
    assert not (tmp_path / "empty").exists()


def test_csv_read_back(command: Command, jobs: Path, tmp_path: Path) -> None:
    folder = tmp_path / "tables"
    assert command("audit", "--jobs", str(jobs), "--csv", str(folder), *OPTIONS).code == 0
    assert len(list(folder.glob("*.csv"))) == 15
    rows = list(csv.DictReader(io.StringIO((folder / "crews.csv").read_text(encoding="utf-8"))))
    assert [(row["crew"], row["finished"]) for row in rows] == [
        ("A. Sample", "1"), ("B. Sample", "0"),
    ]  # fmt: skip
    whole = tmp_path / "all.csv"
    assert command("audit", "--jobs", str(jobs), "--csv", str(whole), *OPTIONS).code == 0
    named = {row[0] for row in csv.reader(io.StringIO(whole.read_text(encoding="utf-8")))}
    assert {"table", "procedures", "crews", "times", "compared"} <= named


def test_the_page_needs_nothing_and_can_be_read_by_a_screen_reader(
    command: Command, jobs: Path, tmp_path: Path
) -> None:
    path = tmp_path / "audit.html"
    assert command("audit", "--jobs", str(jobs), "--html", str(path), *OPTIONS).code == 0
    page = path.read_text(encoding="utf-8")
    assert "<html lang=" in page and "<main>" in page and "<h1>" in page
    assert not re.search(r"(?:src|href)=\"(?!#|data:)", page)
    assert page.count("<caption>") == page.count("<table") > 3
    assert re.search(r'<th scope="row"[^>]*>A\. Sample</th>', page)


def test_jobs_of_a_checklist_that_is_not_at_hand_are_told_as_not_judged(
    command: Command, jobs: Path
) -> None:
    with closing(sqlite3.connect(jobs / "jobs.db")) as database:
        database.execute("DELETE FROM summary")
        database.commit()
    found = json.loads(command("audit", "--jobs", str(jobs), "--json", *OPTIONS).out)
    (row,) = found["tables"]["procedures"]["rows"]
    assert (row["jobs"], row["not_judged"], row["as_found_complete"]) == (2, 2, 0)
