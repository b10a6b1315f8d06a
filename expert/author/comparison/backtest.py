"""Which recorded jobs and whole cases two rulebases judge differently."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from itertools import chain, islice
from pathlib import Path

from expert.author.comparison.alike import Differing, same_but_scale
from expert.author.comparison.otherwise import Otherwise, otherwise
from expert.columns.stage_verdict import (
    StageVerdict,
    verdict_of,
    verdict_of_findings,
    verdicts_on,
)
from expert.errors import PackError, RackwalkError
from expert.inference.compiled import Compiled
from expert.inference.evaluate import Evaluator
from expert.inference.subject_file import read_subject_file
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site, Subject
from expert.procedure.checklist import Checklist
from expert.procedure.entries import Entry
from expert.procedure.history import history_in
from expert.procedure.picture import fold
from expert.procedure.recorded import recorded_runner

MANY = 60  # cases; fewer are judged sooner in one process than others start
_AT_ONCE = 400  # cases that wait for a process; each holds all entries of a job
_KEPT = 32  # evaluators of circuits; more would grow with the number of stores


@dataclass(frozen=True)
class JobCase:
    """A recorded job with all that its judgement hangs on."""

    name: str
    checklist: str
    site_text: str
    subject: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class FileCase:
    """A file of readings, or a scenario."""

    path: Path

    @property
    def name(self) -> str:
        """What it is called in a comparison."""
        return str(self.path)


Case = JobCase | FileCase


@dataclass(frozen=True)
class Judged:
    """A case under two rulebases; `failed` says why one of them cannot judge it."""

    name: str
    before: tuple[StageVerdict, ...]
    after: tuple[StageVerdict, ...]
    failed: str = ""

    @cached_property
    def otherwise(self) -> Otherwise:
        """What is different."""
        return Otherwise((self.failed,)) if self.failed else otherwise(self.before, self.after)

    @property
    def lines(self) -> tuple[str, ...]:
        """What is different, in words; nothing where all is the same."""
        return self.otherwise.lines


@dataclass(frozen=True)
class JudgedBy:
    """A rulebase by which is judged, and what gives the checklists of jobs, held against it."""

    rulebase: Rulebase
    checklists: Callable[[Rulebase], dict[str, Checklist]]


class Judge:
    """Judges cases by one rulebase. The plain engine does; both give the same findings."""

    def __init__(self, by: JudgedBy) -> None:
        self.rulebase = by.rulebase
        self._load = by.checklists
        self._evaluators: dict[object, Evaluator] = {}
        self._compiled: Compiled = {}
        self._sites: dict[str, Site] = {}

    @cached_property
    def _checklists(self) -> dict[str, Checklist]:
        return self._load(self.rulebase)

    def judge(self, case: Case) -> tuple[StageVerdict, ...]:
        """The verdicts on a case. Raises RackwalkError where it cannot be judged."""
        if isinstance(case, JobCase):
            return self._job(case)
        given = read_subject_file(case.path, self.rulebase)
        evaluator = self._evaluator(given.subject, given.members)
        return (verdict_of("", evaluator.evaluate(given.readings, given.found)),)

    def judge_scales(self, path: Path, other: Rulebase) -> Iterator[StageVerdict]:
        """The verdict on a file by this rulebase, and by one that only weighs otherwise: what is
        known and which rules fire is made out once. Raises RackwalkError as `judge`.
        """
        given = read_subject_file(path, self.rulebase)
        evaluator = self._evaluator(given.subject, given.members)
        facts, _ = evaluator.facts(given.readings, given.found)
        fired, influences = evaluator.run(facts), evaluator.influences(facts)
        for rulebase in (self.rulebase, other):
            findings = evaluator.found(facts, fired, influences, rulebase)
            yield verdict_of_findings("", findings)

    def _evaluator(self, subject: Subject, members: tuple[Subject, ...]) -> Evaluator:
        """The evaluator of a subject; titles do not bear on findings, so many files share one."""
        facts = tuple(sorted(subject.facts.items()))
        key: object = (subject.kind, facts, subject.has, subject.altitude)
        if subject.values or subject.limits or members:
            return self._made(subject, members)
        if key not in self._evaluators:
            self._evaluators[key] = self._made(subject, ())
        return self._evaluators[key]

    def _made(self, subject: Subject, members: tuple[Subject, ...]) -> Evaluator:
        return Evaluator(
            self.rulebase, subject, members=members, backend="plain", compiled=self._compiled
        )

    def _job(self, case: JobCase) -> tuple[StageVerdict, ...]:
        if case.checklist not in self._checklists:
            raise RackwalkError(f"there is no checklist '{case.checklist}'")
        if case.site_text not in self._sites:
            at = f"site file of {case.name}"
            self._sites[case.site_text] = parse_site(case.site_text, at, self.rulebase)
        if len(self._evaluators) > _KEPT:  # each holds the limits and conclusions of its plant
            self._evaluators.clear()
        runner, _ = recorded_runner(
            self._checklists[case.checklist], self.rulebase, self._sites[case.site_text],
            case.subject, history_in(case.entries), backend="plain", made=self._evaluators,
        )  # fmt: skip
        return tuple(verdicts_on(runner, fold(case.entries)))


def may_differ(cases: Iterable[Case], before: Rulebase, after: Rulebase) -> Iterator[Case]:
    """The cases that may be judged differently; of a recorded job nothing is said beforehand."""
    differing = Differing(before, after)

    def may(case: Case) -> bool:
        if isinstance(case, JobCase):
            return True
        try:
            return differing.can_act(read_subject_file(case.path, before))
        except RackwalkError:  # the judges say why
            return True

    return filter(may, cases)


_JUDGES: list[Judge] = []
_SCALES: list[bool] = []  # whether the judges differ in their scale of certainty alone


def judge_by_both(
    cases: Iterable[Case], before: JudgedBy, after: JudgedBy, workers: int = 0
) -> Iterator[Judged]:
    """Every case under both rulebases, in the order given; few are held at a time.

    `workers` is the number of processes; 0 takes one for few cases, else one a processor.
    """
    both, waiting = (before, after), iter(cases)
    first = list(islice(waiting, MANY + 1))
    count = workers or ((os.cpu_count() or 1) if len(first) > MANY else 1)
    waiting = chain(first, waiting)
    if count == 1:
        _take(*both)
        yield from map(_judge, waiting)
        return
    with ProcessPoolExecutor(count, initializer=_take, initargs=both) as pool:
        while some := list(islice(waiting, _AT_ONCE * count)):
            yield from pool.map(_judge, some, chunksize=max(1, len(some) // (count * 4)))


def _take(before: JudgedBy, after: JudgedBy) -> None:
    _JUDGES[:] = [Judge(before), Judge(after)]
    _SCALES[:] = [same_but_scale(before.rulebase, after.rulebase)]


def _judge(case: Case) -> Judged:
    verdicts: list[tuple[StageVerdict, ...]] = []
    if _SCALES[0] and isinstance(case, FileCase):
        with suppress(RackwalkError):  # what is wrong is told below
            first, second = _JUDGES[0].judge_scales(case.path, _JUDGES[1].rulebase)
            return Judged(case.name, (first,), (second,))
    for which, judge in zip(("first", "second"), _JUDGES, strict=True):
        try:
            verdicts.append(judge.judge(case))
        except RackwalkError as error:
            said = error.problems[0].message if isinstance(error, PackError) else str(error)
            return Judged(case.name, (), (), f"the {which} rulebase cannot judge it: {said}")
    return Judged(case.name, verdicts[0], verdicts[1])
