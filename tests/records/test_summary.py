"""The short record of a job: made from its report, kept beside it, made again when it changed."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from report_jobs import played  # noqa: E402

from expert.inference.evaluate import Evaluator  # noqa: E402
from expert.procedure.entries import Entry  # noqa: E402
from expert.records.job_summary import (  # noqa: E402
    PUT_RIGHT,
    VERSION,
    JobSummary,
    from_entries,
    from_text,
    seconds_at_steps,
    summarize,
    to_text,
)
from expert.report.context import ReportContext  # noqa: E402
from expert.store.job_row import Job  # noqa: E402
from expert.store.jobs import JobStore  # noqa: E402
from expert.store.summaries import keep_summaries, kept_summaries  # noqa: E402

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def short() -> JobSummary:
    entries, runner = played("a4-low-differential", "A4")
    evaluator = Evaluator(runner.rulebase, runner.subject, backend="plain")
    job = Job("c", "", "", "", "", "", "Store", "", "A4", "us", "A. Sample", NOON)
    return summarize(ReportContext(job, entries, runner, evaluator))


def test_the_recorded_demo_in_short(short: JobSummary) -> None:
    assert short.judged and short.finished and short.signed
    assert short.found[0].cause == "defrost-differential-set-low"
    assert short.found[0].standing == PUT_RIGHT
    assert (short.changes, short.remeasured) == (1, 1)
    assert short.opened and not short.still_open
    assert short.as_found[0] == short.as_found[1] > 20
    assert short.cautions[0] == short.cautions[1] > 3
    assert short.total_seconds > 0


def test_it_reads_back_as_it_was(short: JobSummary) -> None:
    assert from_text(to_text(short)) == short


@pytest.mark.parametrize("text", ["", "[]", "{}", "[1]", "null"])
def test_another_text_is_refused(text: str) -> None:
    with pytest.raises((ValueError, TypeError)):
        from_text(text)


def test_the_entries_alone_say_how_it_was_done_but_judge_nothing(short: JobSummary) -> None:
    entries, _ = played("a4-low-differential", "A4")
    alone = from_entries(entries, entries[-1].at, "c")
    assert not alone.judged and alone.found == ()
    for name in ("changes", "remeasured", "opened", "still_open", "skips", "signed", "seconds"):
        assert getattr(alone, name) == getattr(short, name), name


def entry(seq: int, kind: str, step: str, minutes: float) -> Entry:
    return Entry(seq, NOON + timedelta(minutes=minutes), kind, step, {})


def test_time_at_a_step_leaves_out_the_time_away_and_adds_up_rounds() -> None:
    spent = seconds_at_steps(
        [
            entry(1, "answer", "a", 0), entry(2, "answer", "b@1", 2), entry(3, "stop", "", 3),
            entry(4, "resume", "", 600), entry(5, "answer", "b@2", 601),
            entry(6, "answer", "c#1.q", 602), entry(7, "answer", "c#2.q", 605),
        ]
    )  # fmt: skip
    assert spent == {"b": 180, "c": 240}


def test_it_is_kept_beside_the_job_until_the_job_goes_on(tmp_path: Path, short: JobSummary) -> None:
    job = Job("c", "", "", "", "", "", "Store", "text", "A4", "us", "A. Sample", NOON)
    with JobStore(tmp_path / "jobs.db") as store:
        assert kept_summaries(store.database, VERSION) == {}
        job_id = store.create(job)
        store.append(job_id, entry(1, "note", "", 0))
        keep_summaries(store.database, [(job_id, 1, to_text(short))], VERSION, NOON)
        assert kept_summaries(store.database, VERSION) == {job_id: to_text(short)}
        assert kept_summaries(store.database, VERSION, "another") == {}
        assert kept_summaries(store.database, VERSION + 1) == {}
        store.append(job_id, entry(2, "note", "", 1))
        assert kept_summaries(store.database, VERSION) == {}
        later = to_text(replace(short, changes=9))
        keep_summaries(store.database, [(job_id, 2, later), (job_id, 1, "x")], VERSION, NOON)
        assert kept_summaries(store.database, VERSION) == {job_id: later}
        rows = store.database.rows("SELECT entries, data FROM summary ORDER BY entries")
        assert rows == [(1, to_text(short)), (2, later)]  # the first is never written over
