"""Recorded jobs and whole cases are judged again by two rulebases, and differences told."""

from __future__ import annotations

import io
import shutil
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from cli.small_job import SMALL, lines, run_words

from expert.author.comparison.backtest import (
    Case,
    FileCase,
    JobCase,
    Judged,
    JudgedBy,
    judge_by_both,
)
from expert.cli.frame.main import main
from expert.columns.stage_verdict import JudgedCause, StageVerdict
from expert.knowledge.load_rulebase import load_rulebase
from expert.procedure.load_checklists import load_checklists
from expert.store.jobs import JobStore
from expert.store.paths import job_file

from .conftest import BASE

Judge = Callable[..., tuple[Judged, ...]]
READINGS = "refrigerant: R-449A\ncase_air: 12 F\ncase_fans: all stopped\n"


@pytest.fixture
def other(tmp_path: Path) -> Callable[..., Path]:
    """A copy of a rulebase with some of its text replaced (old, new ...); gives its folder."""

    def make(folder: Path, *texts: str) -> Path:
        copy = tmp_path / "other"
        shutil.copytree(folder, copy)
        (path,) = copy.glob("*.yaml")
        text = path.read_text(encoding="utf-8")
        for old, new in zip(texts[::2], texts[1::2], strict=True):
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return copy

    return make


@pytest.fixture
def case(tmp_path: Path) -> FileCase:
    path = tmp_path / "case.yaml"
    path.write_text(READINGS)
    return FileCase(path)


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> JobCase:
    """A job of the small checklist, walked through the command."""
    monkeypatch.setenv("RACKWALK_NO_CACHE", "1")
    monkeypatch.setattr("sys.stdin", io.StringIO(lines()))
    assert main(run_words(tmp_path / "jobs")) == 0
    with JobStore(job_file(tmp_path / "jobs")) as store:
        (found,) = store.jobs()
        return JobCase(
            found.id, found.checklist, found.site_text, found.subject, store.entries(found.id)
        )


@pytest.fixture
def judged(tmp_path: Path) -> Callable[..., tuple[Judged, ...]]:
    """Judges cases by two rulebases, with the small checklist."""
    (tmp_path / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", tmp_path / "checklists")

    def judge(cases: list[Case], before: Path, after: Path, workers: int = 1) -> tuple[Judged, ...]:
        checklists = partial(load_checklists, tmp_path / "checklists")
        both = [JudgedBy(load_rulebase(folder), checklists) for folder in (before, after)]
        return tuple(judge_by_both(cases, *both, workers))

    return judge


def test_the_same_rulebase_judges_the_same(case: FileCase, judged: Judge) -> None:
    (found,) = judged([case], BASE, BASE)
    assert [each.cause for each in found.before[0].found] == ["fan-motor-dead"]
    assert found.lines == ()


def test_a_changed_strength_is_told(
    case: FileCase, other: Callable[..., Path], judged: Judge
) -> None:
    after = other(BASE, "fan-motor-dead: strong", "fan-motor-dead: weak")
    (found,) = judged([case], BASE, after)
    assert found.lines == ("Case fan motor dead: possible (0.30), was likely (0.75)",)


def test_recorded_jobs_are_told_with_their_site_and_added_up_by_cause(
    job: JobCase, other: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "checklists").mkdir()
    shutil.copy(SMALL / "checkout.yaml", tmp_path / "checklists")
    after = other(SMALL / "rules", "normal: 15 to 20 psi", "normal: 5 to 12 psi")
    capsys.readouterr()
    words = ["rules", "compare", SMALL / "rules", after, "--jobs", tmp_path / "jobs"]
    assert main([*map(str, words), "--checklists", str(tmp_path / "checklists")]) == 0
    told = capsys.readouterr().out.splitlines()
    assert f"{job.name}, Test store" in told
    assert told[-2:] == [
        "1 cases judged by both, 1 of them differently.",
        "Regulator set too low: no longer in 1.",
    ]


def test_a_finding_that_is_gone_and_one_that_came_are_told(
    case: FileCase, other: Callable[..., Path], judged: Judge
) -> None:
    after = other(BASE, "fan-motor-dead: strong", "valve-starving: strong")
    (found,) = judged([case], BASE, after)
    assert found.lines == (
        "now found: Expansion valve starving, likely (0.75)",
        "no longer found: Case fan motor dead, was likely (0.75)",
        "first is now Expansion valve starving, was Case fan motor dead",
    )


def test_a_moved_limit_reaches_the_findings(
    case: FileCase, other: Callable[..., Path], judged: Judge
) -> None:
    after = other(BASE, "-15 to -5 F", "-15 to 20 F", "very_high: 5 F", "very_high: 30 F")
    (found,) = judged([case], BASE, after)
    assert found.lines == ("no longer found: Case fan motor dead, was likely (0.75)",)


def test_what_cannot_be_judged_says_by_which_and_why(
    case: FileCase, other: Callable[..., Path], judged: Judge
) -> None:
    after = other(BASE, "choices: [running, some stopped, all stopped]",
                  "choices: [running, some stopped, every one stopped]",
                  "[air_is_warm, case_fans is all stopped]", "[air_is_warm]",
                  "case_fans: all stopped}", "case_fans: running}")  # fmt: skip
    (found,) = judged([case], BASE, after)
    assert found.failed.startswith("the second rulebase cannot judge it:")
    assert "none of the choices" in found.failed


def test_a_recorded_job_is_judged_from_its_entries_as_found_and_as_left(
    job: JobCase, judged: Judge
) -> None:
    (found,) = judged([job], SMALL / "rules", SMALL / "rules")
    assert [verdict.stage for verdict in found.before] == ["as found", "as left"]
    assert [each.cause for each in found.before[0].found] == ["set-low"]
    assert found.before[1].found == ()


def test_a_recorded_job_is_judged_anew_by_other_numbers(
    job: JobCase, other: Callable[..., Path], judged: Judge
) -> None:
    after = other(SMALL / "rules", "normal: 15 to 20 psi", "normal: 5 to 12 psi")
    (found,) = judged([job], SMALL / "rules", after)
    assert any(line.startswith("as found: no longer found: Regulator set") for line in found.lines)


def test_a_job_of_a_checklist_that_is_not_there_says_so(job: JobCase, tmp_path: Path) -> None:
    judging = JudgedBy(load_rulebase(SMALL / "rules"), partial(load_checklists, tmp_path))
    (found,) = judge_by_both([job], judging, judging, 1)
    assert "there is no checklist" in found.failed


def test_processes_give_the_same_in_the_same_order(
    job: JobCase, other: Callable[..., Path], tmp_path: Path, judged: Judge
) -> None:
    after = other(SMALL / "rules", "normal: 15 to 20 psi", "normal: 5 to 12 psi")
    cases: list[Case] = []
    for number in range(4):
        path = tmp_path / f"{number}.yaml"
        path.write_text(f"refrigerant: R-449A\npush: {8 + 3 * number} psi\nclearing_time: 24 min\n")
        cases.append(FileCase(path))
    cases.insert(2, job)
    alone = judged(cases, SMALL / "rules", after, 1)
    assert judged(cases, SMALL / "rules", after, 2) == alone
    assert sum(bool(each.lines) for each in alone) >= 3


def test_advice_that_is_now_held_back_is_told() -> None:
    found = (JudgedCause("a", "A", 0.5, "likely"),)
    lines = Judged(
        "x", (StageVerdict("", found),), (StageVerdict("", found, ("condemn-part",)),)
    ).lines
    assert lines == ("advice held back: condemn-part, was nothing",)


def test_the_report_of_a_job_names_both_packs_with_their_hashes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack = tmp_path / "ours"
    pack.mkdir()
    (pack / "pack.yaml").write_text(
        f"pack: {{name: ours, version: 2.0.0, over: small, base: {SMALL / 'rules'}}}\n"
    )
    words = [str(pack) if word == str(SMALL / "rules") else word for word in run_words(tmp_path)]
    monkeypatch.setenv("RACKWALK_NO_CACHE", "1")
    monkeypatch.setattr("sys.stdin", io.StringIO(lines()))
    assert main(words) == 0
    (report,) = (tmp_path / "reports").glob("*.md")
    info = load_rulebase(pack).info
    assert info.over is not None
    text = report.read_text(encoding="utf-8")
    assert f"Rulebase: ours 2.0.0, content hash {info.hash}; over small 1.0" in text
    assert f"content hash {info.over.hash}" in text
