"""What is known in a job is kept as it ends, and columns are gathered from that."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from shipped_knowledge import shipped_rules

pytest.importorskip("pyarrow", reason="the extra 'columns' is not installed")

from cli.small_job import SMALL, Command, Printed, lines, resume_words, run_words
from drawn_readings import DrawnJobs

from expert.cli.job.job_columns import columns_folder
from expert.columns.batch import Batch
from expert.columns.known_values import JobHead, JobValues, values_from
from expert.columns.packed_values import packed, unpacked
from expert.columns.parquet import batches, files_in
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.places import shipped
from expert.procedure.log import KnownText
from expert.store.jobs import JobStore
from expert.store.kept_known import kept_known
from expert.store.paths import job_file
from expert.store.store_errors import StoreError

WORKED_OUT = "was worked out from their entries"


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    monkeypatch.setenv("RACKWALK_NO_CACHE", "1")
    return Command(monkeypatch, capsys)


@pytest.fixture
def jobs(tmp_path: Path, command: Command) -> Path:
    """A folder with a finished job, and the one checklist there is beside it."""
    (tmp_path / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", tmp_path / "checklists")
    assert command(*run_words(tmp_path / "jobs"), typed=lines()).code == 0
    return tmp_path / "jobs"


def make(command: Command, jobs: Path) -> Printed:
    return command(
        "jobs", "columns", "--jobs", str(jobs), "--rulebase", str(SMALL / "rules"),
        "--checklists", str(jobs.parent / "checklists"),
    )  # fmt: skip


def held(jobs: Path) -> list[Any]:
    """All that the columns of a folder hold."""

    def one(batch: Batch) -> Any:
        lists = {name: json.dumps(each.tolist()) for name, each in batch.lists.items()}
        return batch.jobs, lists, batch.names

    folder = columns_folder(job_file(jobs))
    return [one(batch) for path in files_in(folder) for batch in batches(path)]


@pytest.fixture
def store(jobs: Path) -> Iterator[JobStore]:
    with JobStore(job_file(jobs)) as opened:
        yield opened


def test_what_is_gathered_is_what_follows_from_the_entries(
    command: Command, jobs: Path, store: JobStore
) -> None:
    done = make(command, jobs)
    assert done.out.startswith("1 jobs are now in columns") and WORKED_OUT not in done.out
    gathered = held(jobs)
    ((heads, lists, names),) = gathered
    assert heads[0][1] == store.get(heads[0][0]).chain
    assert len(json.loads(lists["number"])) > 3 and names.of["cause"]
    shutil.rmtree(columns_folder(job_file(jobs)))
    store.database.run("DELETE FROM known")
    assert WORKED_OUT in make(command, jobs).out
    assert held(jobs) == gathered


def test_what_was_made_in_another_frame_or_cannot_be_read_is_worked_out(
    command: Command, jobs: Path, store: JobStore
) -> None:
    make(command, jobs)
    expected = held(jobs)
    for change in ("frame = 'another'", "data = 'eJw'", "data = ''"):
        shutil.rmtree(columns_folder(job_file(jobs)))
        store.database.run(f"UPDATE known SET {change}")  # noqa: S608
        assert WORKED_OUT in make(command, jobs).out
        assert held(jobs) == expected


def test_an_outcome_stands_in_columns_and_nothing_is_worked_out_for_it(
    command: Command, jobs: Path, store: JobStore
) -> None:
    make(command, jobs)
    ((heads, before, _),) = held(jobs)
    assert json.loads(before["became_job"]) == []
    said = command(
        "outcome", heads[0][0], "--was", "no", "--who", "A. Sample", "--jobs", str(jobs),
        "--rulebase", str(SMALL / "rules"),
    )  # fmt: skip
    assert said.code == 0, said.err
    assert WORKED_OUT not in make(command, jobs).out
    ((again, after, names),) = held(jobs)
    assert again[0] == (heads[0][0], store.get(heads[0][0]).chain) != heads[0]
    assert [names.of["answer"][n] for n in json.loads(after["became_answer"])] == ["not so"]
    assert {**after, "became_job": 0} != {**before, "became_job": 0}
    assert after["number"] == before["number"]


def test_a_job_that_is_finished_again_has_what_is_known_then(
    command: Command, jobs: Path, store: JobStore
) -> None:
    (job,) = store.jobs()
    (first,) = kept_known(store.database, [job.id]).values()
    done = command(*resume_words(jobs, job.id), typed="3\nmisread\n195\nA. Sample\n")
    assert done.code == 0, done.err
    (again,) = kept_known(store.database, [job.id]).values()
    assert again != first
    assert store.database.rows("SELECT count(*) FROM known") == [(1,)]
    assert WORKED_OUT not in make(command, jobs).out


def test_a_job_that_goes_on_has_nothing_kept_until_it_ends(jobs: Path, store: JobStore) -> None:
    (job,) = store.jobs()
    last = store.entries(job.id)[-1]
    store.append(job.id, replace(last, seq=last.seq + 1, kind="reopen"))
    assert kept_known(store.database, [job.id]) == {}
    store.remove(job.id)
    assert store.database.rows("SELECT count(*) FROM known") == [(0,)]


def test_what_is_known_and_the_end_of_a_job_are_kept_together_or_not_at_all(
    jobs: Path, store: JobStore
) -> None:
    (job,) = store.jobs()
    store.finish(job.id, None)
    last = store.entries(job.id)[-1]
    nothing: Any = None
    with pytest.raises(StoreError):
        store.extend(
            job.id, [replace(last, seq=last.seq + 1)], last.at, KnownText("frame", nothing)
        )
    assert store.get(job.id).finished is None
    assert store.get(job.id).entries == last.seq


def test_a_job_that_came_in_is_worked_out(command: Command, jobs: Path, tmp_path: Path) -> None:
    make(command, jobs)
    file, other = tmp_path / "jobs.jsonl", tmp_path / "other"
    assert command("jobs", "export", "--jobs", str(jobs), "--output", str(file)).code == 0
    assert command("jobs", "import", str(file), "--jobs", str(other)).code == 0
    assert WORKED_OUT in make(command, other).out
    assert held(other) == held(jobs)


def test_values_of_all_sorts_are_read_back_as_they_were() -> None:
    rules = shipped_rules()
    text = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
    site = parse_site(text, "site.yaml", rules)
    drawing = DrawnJobs(rules, site, 3)
    series = 0
    for _ in range(6):
        job = drawing.job()
        on = site.subjects[job.subject]
        evaluator = Evaluator(rules, on, members=site.members(on), backend="plain")
        head = JobHead("job", "chain", "site", job.subject)
        values: JobValues = values_from(head, evaluator, job.found, job.left)
        again = unpacked(head, packed(values))
        assert again == values
        series += sum(bool(each.samples) for view in again.views for each in view.known.values())
    assert series


@pytest.mark.parametrize("text", ["", "no", "eJw", "W10=", packed(
    JobValues(JobHead("", "", "", ""), "", True, (), (), ())
)[:-8]])  # fmt: skip
def test_a_text_that_was_not_made_so_is_refused(text: str) -> None:
    with pytest.raises(ValueError):
        unpacked(JobHead("", "", "", ""), text)
