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
from expert.author.comparison.on_workers import settle_file, settled_on_workers
from expert.columns.column_judge import ColumnJudge
from expert.columns.frame import frame_of
from expert.columns.known_values import JobHead, values_from
from expert.columns.parquet import batches, block_heads, write
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
    searched = gc.isenabled()
    gc.disable()
    try:
        block = next(blocks)
        held = weakref.ref(block)
        judge.judge(block)
        del block
        assert held() is None
    finally:
        if searched:
            gc.enable()


@at_night
@pytest.mark.filterwarnings("ignore")
def test_a_worker_that_is_lost_changes_nothing(
    both: tuple[JudgedBy, JudgedBy], files: list[Path]
) -> None:
    comparison = ColumnComparison(*both)
    alone = [each for path in files for each in comparison.in_file(path)]
    assert sum(each.count for each in alone) == FILES * JOBS
    assert any(each.different for each in alone)
    found: dict[Path, tuple[Settled, ...]] = {}
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        for each in settled_on_workers(cluster.scheduler_address, files, both):
            if not found:
                os.kill(cluster.workers[0].pid, signal.SIGKILL)
            assert not each.problem
            found[each.path] = each.blocks
    assert [block for path in files for block in found[path]] == alone


def test_what_is_settled_is_named_by_the_heads_of_its_file(
    both: tuple[JudgedBy, JudgedBy], files: list[Path]
) -> None:
    ((heads, settled),) = zip(
        block_heads(files[0]), ColumnComparison(*both).in_file(files[0]), strict=True
    )
    assert settled.of(heads) == heads and settled.count == JOBS
    only = replace(settled, bits=bytes([0b01010000]))
    assert only.of(heads) == (heads[1], heads[3])


def test_a_file_that_is_damaged_on_a_worker_is_told(
    both: tuple[JudgedBy, JudgedBy], files: list[Path]
) -> None:
    whole = settle_file(str(files[0]), both)
    assert len(whole.blocks) == 1 and not whole.problem
    files[0].write_bytes(files[0].read_bytes()[:500])
    assert settle_file(str(files[0]), both).blocks == ()
    assert files[0].name in settle_file(str(files[0]), both).problem


@pytest.mark.filterwarnings("ignore")
def test_an_address_where_nobody_answers_is_told(
    both: tuple[JudgedBy, JudgedBy], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.author.comparison.on_workers._WAIT", 1)
    with pytest.raises(RackwalkError, match="No workers answer"):
        list(settled_on_workers("tcp://127.0.0.1:9", [], both))
