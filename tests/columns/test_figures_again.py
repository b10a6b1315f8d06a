"""Figures of what jobs were told and how it turned out: by columns as by the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from shipped_knowledge import shipped_rules

pytest.importorskip("pyarrow", reason="the extra 'columns' is not installed")

import numpy as np
from drawn_readings import DrawnJob, DrawnJobs, told_by_engine
from other_rules import other_rules

from expert.columns.batch import Batch, Flags
from expert.columns.figures_again import FiguresAgain, worded
from expert.columns.frame import Frame
from expert.columns.judged_again import JudgedAgain
from expert.columns.known_values import Became, JobHead, JobValues, ToldThen, values_from
from expert.columns.parquet import batches, write
from expert.columns.stage_verdict import JudgedCause, StageVerdict, on_member
from expert.columns.still_holding import StillHolding
from expert.inference.evaluate import Evaluator
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.places import shipped
from expert.report.outcomes import ANOTHER, CONFIRMED, NOT_KNOWN, NOT_SO

SITE = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
ANSWERED = (CONFIRMED, ANOTHER, NOT_SO)
JOBS = 7


class DrawnTogether:
    """Jobs with what they were told by one rulebase and how it turned out, by lot."""

    def __init__(self, rules: Rulebase, seed: int) -> None:
        self._chance = Random(seed)
        self._site = parse_site(SITE, "site.yaml", rules)
        self._rules = rules
        self.jobs = [DrawnJobs(rules, self._site, seed + n).job() for n in range(JOBS)]

    def verdicts(self, job: DrawnJob, rules: Rulebase) -> list[StageVerdict]:
        """What the engine says of a job, as of a recorded one."""
        return [
            StageVerdict(stage if on == job.subject else on_member(stage, on), found)  # type: ignore[arg-type]
            for (stage, on), (found, _) in told_by_engine(self._evaluator(job, rules), job).items()  # type: ignore[misc]
        ]

    def _evaluator(self, job: DrawnJob, rules: Rulebase) -> Evaluator:
        on = parse_site(SITE, "site.yaml", rules).subjects[job.subject]
        return Evaluator(rules, on, members=self._site.members(on), backend="plain")

    def values(self) -> Iterator[JobValues]:
        """Each job as columns hold it."""
        for number, job in enumerate(self.jobs):
            head = JobHead(str(number), "", "demo", job.subject)
            made = values_from(head, self._evaluator(job, self._rules), job.found, job.left)
            found = next(each.found for each in self.verdicts(job, self._rules))
            told = tuple(ToldThen(job.subject, *each) for each in sorted(worded(found)))
            became = tuple(self._became(job, found))
            yield replace(made, frame="any", told=told if number % 5 else None, became=became)

    def _became(self, job: DrawnJob, found: tuple[JudgedCause, ...]) -> Iterator[Became]:
        causes, chance = list(self._rules.causes), self._chance
        for each in found[:2]:
            answer = chance.choice((*ANSWERED, NOT_KNOWN))
            another = chance.choice(causes + [each.cause for each in found])
            actual = {CONFIRMED: each.cause, ANOTHER: another}.get(answer, "")
            yield Became(job.subject, each.cause, actual, answer)
        if chance.random() < 0.3:  # nothing was told, or on what nothing was read
            yield Became(chance.choice((job.subject, "C1")), "", chance.choice(causes), ANOTHER)


@pytest.fixture(scope="module")
def drawn() -> DrawnTogether:
    """Drawn and judged once; both rulebases and the choice of jobs are tried on them."""
    return DrawnTogether(shipped_rules(), 40)


@pytest.fixture(scope="module")
def values(drawn: DrawnTogether) -> list[JobValues]:
    return list(drawn.values())


@pytest.fixture(autouse=True)
def all_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether values still hold is another question."""

    def none(self: StillHolding, batch: Batch) -> Flags:
        return np.zeros(len(batch.jobs), dtype=bool)

    monkeypatch.setattr(StillHolding, "overtaken", none)


@pytest.mark.parametrize("changed", [False, True])
def test_columns_and_the_engine_come_to_the_same_figures(
    tmp_path: Path, drawn: DrawnTogether, values: list[JobValues], changed: bool
) -> None:
    rules = shipped_rules()
    after = other_rules(rules) if changed else rules
    by_engine, by_columns = FiguresAgain(), FiguresAgain()
    for job, each in zip(drawn.jobs, values, strict=True):
        by_engine.job(job.subject, drawn.verdicts(job, after), each.told, each.became, ANSWERED)
    write(tmp_path / "jobs.parquet", values, {"demo": SITE}, {"any": Frame("", "", {}, {})})
    again = JudgedAgain(after, {}, ANSWERED)
    for batch in batches(tmp_path / "jobs.parquet"):
        settled = again.add(batch, [True] * len(batch.jobs), by_columns)
        assert settled.all()
    assert by_columns == by_engine
    assert by_engine.jobs == JOBS and sum(each.it_was for each in by_engine.causes.values()) > 1
    assert any(each.measured for each in by_engine.causes.values())
    assert any(each.not_so for each in by_engine.causes.values())
    assert len(by_engine.told) > 20 and len(by_engine.now) > 20


def test_only_wanted_jobs_are_counted(tmp_path: Path, values: list[JobValues]) -> None:
    rules = shipped_rules()
    write(tmp_path / "jobs.parquet", values, {"demo": SITE}, {"any": Frame("", "", {}, {})})
    wanted = [number in (1, 3) for number in range(JOBS)]
    figures = FiguresAgain()
    (batch,) = batches(tmp_path / "jobs.parquet")
    assert JudgedAgain(rules, {}, ANSWERED).add(batch, wanted, figures).tolist() == wanted
    told = [(each.cause, each.words) for n in (1, 3) for each in values[n].told or ()]
    assert figures.jobs == 2 and sorted(figures.told.elements()) == sorted(told)
