"""`rackwalk demo` on the shipped demo jobs."""

from __future__ import annotations

from pathlib import Path

import pytest
from budget import NIGHTLY, at_night

from expert.cli.checklist.demo_jobs import demo_jobs
from expert.places import shipped
from expert.store.jobs import JobStore

from .small_job import Command

JOBS = demo_jobs(shipped("checklists") / "demo")


@pytest.mark.parametrize("name", JOBS if NIGHTLY else list(JOBS)[-1:])
def test_each_demo_job_ends_with_the_path_of_its_report(
    command: Command, tmp_path: Path, name: str
) -> None:
    done = command("demo", name, "--fast", "--jobs", str(tmp_path))
    assert done.code == 0, done.err
    assert Path(done.last).read_text(encoding="utf-8").startswith("#")


@at_night
def test_the_whole_demo_shows_cautions_answers_what_the_rules_think_and_goes_forward(
    command: Command, tmp_path: Path
) -> None:
    done = command("demo", "--whole", "--jobs", str(tmp_path))
    for part in ("CAUTION: ", "y/n> yes", "What we think so far", "Found (as found):"):
        assert part in done.out
    with JobStore(tmp_path / "jobs.db") as store:
        times = [entry.at for entry in store.entries(store.jobs()[0].id)]
    assert times == sorted(times)


@pytest.mark.parametrize("name", JOBS if NIGHTLY else list(JOBS)[-1:])
def test_a_demo_tells_its_story_in_less_than_a_minute(
    command: Command, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    waited: list[float] = []
    monkeypatch.setattr("time.sleep", waited.append)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    done = command("demo", name, "--jobs", str(tmp_path))
    assert 10 < sum(waited) < 60
    shown = [part for part in done.out.split("\n\n") if "> " in part]
    assert len(shown) == len(JOBS[name].shows)  # every step that is named is there
    changed = "Found (as left)" in done.out
    assert ("What we think so far (as found):" in done.out) == changed
    for part in ("CAUTION: ", "y/n> yes", "Found (as found):", "What to type next"):
        assert part in done.out


def test_the_demo_jobs_are_listed(command: Command) -> None:
    done = command("demo", "--list")
    assert all(name in done.out for name in JOBS)


def test_an_unknown_demo_is_refused(command: Command, tmp_path: Path) -> None:
    done = command("demo", "helthy", "--jobs", str(tmp_path))
    assert done.code == 2
    assert "Did you mean 'healthy'?" in done.err
