"""Lists of many jobs: filters, pages, the most urgent first, open items answered together."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from expert.cli.frame.page_by_page import LENGTH
from expert.errors import ReadingError
from expert.procedure.entries import Entry
from expert.procedure.history import DONE, STILL_OPEN, PastOutcome
from expert.store.find_history import past_outcomes
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.terminal.open_together import answers_in

from .small_job import SMALL, WALK, Command, Printed, lines, run_words

NOON = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)


def job(subject: str, site: str, who: str, day: int) -> Job:
    return Job(
        checklist="small-checkout", checklist_revision="1", checklist_hash="c0ffee",
        rulebase="small", rulebase_version="1.0", rulebase_hash="beef", site=site,
        site_text="site: {name: x}\n", subject=subject, units="us", who=who,
        created=NOON + timedelta(days=day),
    )  # fmt: skip


@pytest.fixture
def many(tmp_path: Path) -> Path:
    """40 jobs at two sites; every tenth is not finished; each left something open."""
    with JobStore(tmp_path / "jobs.db") as store:
        kept = []
        for n in range(40):
            each = job(f"A{n % 7}", "North" if n % 2 else "South", f"crew {n % 3}", n)
            cause = "set-low" if n % 5 else "gone"
            item = {"key": f"finding:A{n % 7}:{cause}", "kind": "finding", "subject": f"A{n % 7}",
                    "text": f"finding {n}"}  # fmt: skip
            entry = Entry(1, each.created, "left", "", {"items": [item]})
            kept.append((replace(each, finished=each.created if n % 10 else None), [entry]))
        store.add_all(kept)
    return tmp_path


def listed(done: Printed) -> list[str]:
    assert done.code == 0, done.err
    return [str(each["id"]) for each in json.loads(done.out)["jobs"]]


def test_jobs_are_filtered_paged_and_the_unfinished_come_first(
    command: Command, many: Path
) -> None:
    place = ("--jobs", str(many))
    assert len(listed(command("jobs", "--json", *place))) == 40
    assert len(listed(command("jobs", "--json", "--site", "north", *place))) == 20
    assert len(listed(command("jobs", "--json", "--unfinished", *place))) == 4
    some = ("--who", "crew 1", "--since", "2026-03-20", "--until", "2026-03-29")
    assert len(listed(command("jobs", "--json", *some, *place))) == 3
    assert "Did you mean" in command("jobs", "--site", "Nort h", *place).err
    done = command("jobs", *place)
    heads = [line for line in done.out.splitlines() if line.startswith("2026-")]
    assert len(heads) == LENGTH
    assert "not finished" in " ".join(done.out.split("2026-04-")[1].split())
    assert f"1 to {LENGTH} of 40; --page 2 goes on" in done.out
    assert "31 to 40 of 40." in command("jobs", "--page", "3", *place).out
    assert command("jobs", "--page", "4", *place).code == 2
    assert len(command("jobs", "--all", *place).out.splitlines()) >= 40


def test_what_is_open_is_told_the_most_urgent_first(command: Command, many: Path) -> None:
    words = ("jobs", "open", "--jobs", str(many), "--rulebase", str(SMALL / "rules"))
    found = json.loads(command(*words, "--json").out)["open"]
    ranks = [each["urgency"] for each in found]
    assert ranks == sorted(ranks, key=("food", "equipment").index) and len(set(ranks)) == 2
    of_food = [each["job"] for each in found if each["urgency"] == "food"]
    assert of_food == sorted(of_food, reverse=True)  # what a job spoke of last
    done = command(*words, "--urgency", "equipment", "--subject", "a3")
    assert "A3" in done.out and "A1" not in done.out and "food" not in done.out


def test_numbers_answer_open_items_together() -> None:
    assert answers_in("1, 3-4 open 2", 5) == {1: DONE, 3: DONE, 4: DONE, 2: STILL_OPEN}
    assert answers_in("open 1-5", 5) == dict.fromkeys(range(1, 6), STILL_OPEN)
    assert answers_in("", 5) == {}
    for wrong in ("6", "0", "x", "1 open", "1 open 1", "4-2"):
        with pytest.raises(ReadingError):
            answers_in(wrong, 5)


def test_a_job_is_taken_out_and_brought_back(command: Command, tmp_path: Path) -> None:
    place = ("--jobs", str(tmp_path))
    assert command(*run_words(tmp_path, "--who", "A. Sample"), typed=lines(WALK)).code == 0
    (job_id,) = listed(command("jobs", "--json", *place))
    assert command("jobs", "remove", job_id[:-1], *place).code == 2  # named in full only
    done = command("jobs", "remove", job_id, *place)
    assert done.code == 0
    assert listed(command("jobs", "--json", *place)) == []
    assert command("jobs", "import", done.last, *place).code == 0
    assert listed(command("jobs", "--json", *place)) == [job_id]
    assert command("jobs", "check", *place).code == 0


def test_a_new_job_is_told_what_earlier_findings_turned_out_to_be(tmp_path: Path) -> None:
    with JobStore(tmp_path / "jobs.db") as store:
        data = {"subject": "A4", "cause": "set-low", "title": "Set too low", "words": "likely",
                "answer": "another cause", "actual": "stuck", "actual_title": "Stuck"}  # fmt: skip
        entry = Entry(1, NOON, "outcome", "outcome:A4:set-low", data, "A. Sample")
        store.add_all([(job("A4", "North", "x", 0), [entry])])
        (said,) = past_outcomes(store, "North", "A4")
        assert said == PastOutcome(
            NOON, "Set too low: another cause, Stuck", "A. Sample", "2026-03-14-A4"
        )
        assert past_outcomes(store, "North", "A5") == ()
