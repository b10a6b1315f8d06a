"""The column judge says of every job what the engine says, under any rulebase."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from budget import examples
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

pytest.importorskip("pyarrow", reason="the extra 'columns' is not installed")

from drawn_readings import DrawnJob, DrawnJobs, told_by_engine
from other_rules import other_rules

from expert.columns.batch import Batch
from expert.columns.column_judge import ColumnJudge
from expert.columns.frame import Frame
from expert.columns.known_values import JobHead, JobValues, values_from
from expert.columns.parquet import batches, write
from expert.columns.said import AllSaid
from expert.inference.evaluate import Evaluator
from expert.knowledge.conditions import Is, Over
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site
from expert.places import shipped
from expert.procedure.world import AS_FOUND, AS_LEFT

TEXT = (shipped("checklists") / "demo" / "site.yaml").read_text(encoding="utf-8")
ANY = Frame("", "", {}, {})
Told = dict[tuple[str, str], object]


@pytest.fixture(scope="module")
def site(shipped_rulebase: Rulebase) -> Site:
    return parse_site(TEXT, "site.yaml", shipped_rulebase)


class Both:
    """Both judges of one rulebase, over the demonstration store."""

    def __init__(self, rulebase: Rulebase, file: Path) -> None:
        self.rulebase = rulebase
        self._site = parse_site(TEXT, "site.yaml", rulebase)
        self._file = file
        self._judge = ColumnJudge(rulebase, AllSaid())
        self._evaluators: dict[str, Evaluator] = {}

    def evaluator(self, subject: str) -> Evaluator:
        if subject not in self._evaluators:
            on = self._site.subjects[subject]
            members = self._site.members(on)
            self._evaluators[subject] = Evaluator(
                self.rulebase, on, members=members, backend="plain"
            )
        return self._evaluators[subject]

    def values(self, number: int, job: DrawnJob) -> JobValues:
        head = JobHead(str(number), "", "demo", job.subject)
        return replace(
            values_from(head, self.evaluator(job.subject), job.found, job.left), frame="any"
        )

    def by_columns(self, jobs: list[DrawnJob]) -> Iterator[Told | None]:
        """What is told of each job; None where the columns leave it open."""
        values = (self.values(number, job) for number, job in enumerate(jobs))
        write(self._file, values, {"demo": TEXT}, {"any": ANY})
        for batch in batches(self._file):
            found = self._judge.judge(batch)
            told: list[Told | None] = [{} for _ in batch.jobs]
            for view, number in enumerate(found.said.tolist()):
                said = self._judge.said.said[number]
                here = told[int(batch.job_of_view[view])]
                if batch.judged[view] and here is not None:
                    here[_where(batch, view)] = said.found, said.held_back
            yield from (
                None if left else each for each, left in zip(told, found.open_jobs, strict=True)
            )


def _where(batch: Batch, view: int) -> tuple[str, str]:
    subject = batch.names.of["subject"][batch.lists["view_subject"][view]]
    return AS_LEFT if batch.group[view] % 2 else AS_FOUND, subject


@pytest.fixture(scope="module", params=["shipped", "others"])
def both(
    request: pytest.FixtureRequest,
    shipped_rulebase: Rulebase,
    tmp_path_factory: pytest.TempPathFactory,
) -> Both:
    rules = shipped_rulebase if request.param == "shipped" else other_rules(shipped_rulebase)
    return Both(rules, tmp_path_factory.mktemp("columns") / "jobs.parquet")


# a job of all sorts of readings takes the engine a tenth of a second
@settings(max_examples=examples(100) // 10, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 2**32))
def test_both_judges_tell_the_same(both: Both, site: Site, seed: int) -> None:
    drawing = DrawnJobs(both.rulebase, site, seed)
    jobs = [drawing.job() for _ in range(4)]
    for job, told in zip(jobs, both.by_columns(jobs), strict=True):
        assert told == told_by_engine(both.evaluator(job.subject), job)


def test_a_count_over_members_of_whom_the_papers_tell_more_is_left_open(
    shipped_rulebase: Rulebase, tmp_path: Path
) -> None:
    told_of_all = Over("every", "circuit", (Is("design_discharge_air", "known"),))
    name, rule = next(iter(shipped_rulebase.rules.items()))
    rules = {**shipped_rulebase.rules, name: replace(rule, when=(told_of_all,))}
    both = Both(replace(shipped_rulebase, rules=rules), tmp_path / "jobs.parquet")
    assert list(both.by_columns([DrawnJob("A", (), None)])) == [None]


def test_a_file_of_another_form_settles_nothing(
    both: Both, site: Site, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = DrawnJobs(both.rulebase, site, 1).job()
    file = tmp_path / "jobs.parquet"
    write(file, [both.values(0, job)], {"demo": TEXT}, {"any": ANY})
    assert len(list(batches(file))) == 1
    monkeypatch.setattr("expert.columns.parquet.FORM", 1)
    assert list(batches(file)) == []
