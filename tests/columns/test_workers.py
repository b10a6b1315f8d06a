"""Workers of a scheduler settle what one process settles, also when one of them is lost."""

from __future__ import annotations

import gc
import os
import shutil
import signal
import weakref
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from budget import at_night

pytest.importorskip("distributed", reason="the extra 'workers' is not installed")
pytest.importorskip("pyarrow", reason="the extra 'columns' is not installed")

from cli.small_job import SMALL
from distributed import LocalCluster
from drawn_readings import DrawnJobs

from expert.author.comparison.backtest import JudgedBy
from expert.author.comparison.by_columns import ColumnComparison, Settled
from expert.author.comparison.on_workers import settled_on_workers
from expert.columns.column_judge import ColumnJudge
from expert.columns.frame import frame_of
from expert.columns.known_values import JobHead, values_from
from expert.columns.parquet import batches, write
from expert.columns.said import AllSaid
from expert.errors import RackwalkError
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import load_site
from expert.procedure.load_checklists import load_checklists

FILES, JOBS = 12, 5


@pytest.fixture
def both(tmp_path: Path) -> tuple[JudgedBy, JudgedBy]:
    """The small rulebase, and the same with weaker evidence."""
    folder = tmp_path / "checklists"
    folder.mkdir()
    shutil.copy(SMALL / "checkout.yaml", folder)
    rules = load_rulebase(SMALL / "rules")
    scale = replace(rules.certainty, strengths=rules.certainty.strengths | {"strong": 0.6})
    other = replace(rules, certainty=scale, info=replace(rules.info, hash="weaker"))
    checklists = partial(load_checklists, folder)
    return JudgedBy(rules, checklists), JudgedBy(other, checklists)


@pytest.fixture
def files(both: tuple[JudgedBy, JudgedBy], tmp_path: Path) -> list[Path]:
    rules = both[0].rulebase
    frame = frame_of(both[0].checklists(rules)["small-checkout"], rules)
    site = load_site(SMALL / "site.yaml", rules)
    drawing = DrawnJobs(rules, site, 7)
    made = []
    for number in range(FILES):
        values = []
        for job in (drawing.job() for _ in range(JOBS)):
            on = site.subjects[job.subject]
            evaluator = Evaluator(rules, on, members=site.members(on), backend="plain")
            head = JobHead(f"{number}-{len(values)}", "", "small", job.subject)
            found = values_from(head, evaluator, job.found, job.left)
            values.append(replace(found, frame=frame.name))
        made.append(tmp_path / f"{number:06d}.parquet")
        write(made[-1], values, {"small": site.text}, {frame.name: frame})
    return made


def test_memory_of_what_was_told_may_begin_anew_at_any_block(
    both: tuple[JudgedBy, JudgedBy], files: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    comparison = ColumnComparison(*both)
    expected = [each for path in files for each in comparison.in_file(path)]
    assert any(each.different for each in expected)
    monkeypatch.setattr("expert.columns.said._KEPT", 2)
    anew = ColumnComparison(*both)
    backwards = [each for path in reversed(files) for each in anew.in_file(path)]
    assert backwards[::-1] == expected
    said = anew._said
    assert said.turn > 1
    said.bound()
    assert len(said.said) <= 2


def test_a_block_that_was_judged_is_given_back_at_once(
    both: tuple[JudgedBy, JudgedBy], files: list[Path]
) -> None:
    judge = ColumnJudge(both[0].rulebase, AllSaid())
    blocks = batches(files[0])
    gc.collect()
    gc.disable()
    try:
        block = next(blocks)
        held = weakref.ref(block)
        judge.judge(block)
        del block
        assert held() is None
    finally:
        gc.enable()


@at_night
@pytest.mark.filterwarnings("ignore")
def test_a_worker_that_is_lost_changes_nothing(
    both: tuple[JudgedBy, JudgedBy], files: list[Path]
) -> None:
    comparison = ColumnComparison(*both)
    alone = [each for path in files for each in comparison.in_file(path)]
    assert sum(len(each.jobs) for each in alone) == FILES * JOBS
    assert any(each.different for each in alone)
    found: list[Settled] = []
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        for each in settled_on_workers(cluster.scheduler_address, files, both):
            if not found:
                os.kill(cluster.workers[0].pid, signal.SIGKILL)
            found.append(each)
    assert sorted(found, key=lambda each: each.jobs) == sorted(alone, key=lambda each: each.jobs)


@pytest.mark.filterwarnings("ignore")
def test_an_address_where_nobody_answers_is_told(
    both: tuple[JudgedBy, JudgedBy], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.author.comparison.on_workers._WAIT", 1)
    with pytest.raises(RackwalkError, match="No workers answer"):
        list(settled_on_workers("tcp://127.0.0.1:9", [], both))
