"""Finished jobs judged again by the rules at hand: from columns where they stand, the others from
their entries. Block after block, so that no number of jobs is too large."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from expert.author.comparison.backtest import JobCase, Judge, JudgedBy
from expert.cli.frame.progress import Progress
from expert.cli.job.job_columns import can_use_columns, columns_folder, said_in
from expert.cli.job.load_knowledge import load_checklists_of, load_rules
from expert.cli.jobs.filters import days, in_time, meant
from expert.columns.figures_again import FiguresAgain
from expert.errors import RackwalkError
from expert.knowledge.pack_files import checklist_folders
from expert.records.told_again import tables_again
from expert.report import outcomes, told
from expert.report.outcomes import ANOTHER, CONFIRMED, NOT_SO

if TYPE_CHECKING:
    from expert.columns.batch import Batch
    from expert.columns.judged_again import JudgedAgain
    from expert.records.tables import PrintedTable
    from expert.store.jobs import JobStore

ANSWERED = (CONFIRMED, ANOTHER, NOT_SO)
_AT_ONCE = 256  # jobs that are looked up together
_JOB = "SELECT id, chain, site, checklist, subject, created FROM job WHERE finished IS NOT NULL"


class _JobsAskedFor:
    """Which jobs are meant: by the filters, or by their ids where these are known already."""

    def __init__(
        self, options: argparse.Namespace, store: JobStore, only: Collection[str] | None
    ) -> None:
        self._only = only
        self._days = days(options)
        self._names: dict[str, str] = {}
        for name in ("site", "checklist", "subject"):
            wanted: str | None = getattr(options, name, None)
            if wanted is not None and only is None:
                rows = store.database.rows(f"SELECT DISTINCT {name} FROM job ORDER BY {name}")  # noqa: S608
                self._names[name] = meant(wanted, [str(row[0]) for row in rows], name)

    def __call__(self, row: Sequence[str]) -> bool:
        """Whether one is, as `_JOB` gives it."""
        job, _, site, checklist, subject, created = row
        if self._only is not None:
            return job in self._only
        has = {"site": site, "checklist": checklist, "subject": subject}
        day = datetime.fromisoformat(created).astimezone().date()
        return all(has[name] == text for name, text in self._names.items()) and in_time(
            day, *self._days
        )


class JudgingAgain:
    """Adds up what the rules at hand say of the finished jobs that are asked for.

    `only` are the ids of these jobs, where they are known. `from_columns` of them were settled by
    columns; `left` could not be judged by these rules.
    """

    def __init__(
        self, options: argparse.Namespace, store: JobStore, place: Path | str,
        only: Collection[str] | None,
    ) -> None:  # fmt: skip
        self.rules = load_rules(options.rulebase)
        self.figures = FiguresAgain()
        self.from_columns = self.left = 0
        self._checklists = load_checklists_of(checklist_folders(options.rulebase), self.rules)
        self._store = store
        self._folder = columns_folder(place)
        self._wanted = _JobsAskedFor(options, store, only)
        self._done: set[str] = set()

    def run(self) -> None:
        """Judge all of them."""
        progress = Progress("jobs judged again")
        for count in self._steps():
            progress(count)
        progress.end()

    def _steps(self) -> Iterator[int]:
        """How many were judged by now, again and again."""
        yield from self._by_columns()
        self.from_columns = self.figures.jobs
        judge = Judge(JudgedBy(self.rules, lambda _: self._checklists))
        for job in self._others():
            self._from_entries(job, judge)
            yield self.figures.jobs

    def _by_columns(self) -> Iterator[int]:
        if not self._folder.is_dir() or not can_use_columns():
            return
        from expert.columns.compiled_rules import TooLarge
        from expert.columns.judged_again import JudgedAgain
        from expert.columns.parquet import UnreadableColumnsError, batches, files_in

        try:
            again = JudgedAgain(self.rules, self._checklists, ANSWERED)
            for path in files_in(self._folder):
                try:
                    for batch in batches(path):
                        self._block(batch, again)
                        yield self.figures.jobs
                except UnreadableColumnsError as error:
                    sys.stderr.write(f"rackwalk: {error} Its jobs are judged from their entries.\n")
        except TooLarge:
            return

    def _block(self, batch: Batch, again: JudgedAgain) -> None:
        """The jobs of a block that are as they were when it was made, and are asked for."""
        named = {f"j{number}": job for number, (job, _) in enumerate(batch.jobs)}
        rows = self._store.database.rows(
            f"{_JOB} AND id IN ({', '.join(f':{name}' for name in named)})", named
        )
        there = {(str(row[0]), str(row[1])) for row in rows if self._wanted(row)}
        wanted = [head in there and head[0] not in self._done for head in batch.jobs]
        settled = again.add(batch, wanted, self.figures)
        self._done.update(head[0] for head, yes in zip(batch.jobs, settled, strict=True) if yes)

    def _others(self) -> Iterator[str]:
        """The finished jobs that are asked for and were not counted yet, some at a time."""
        last = ""
        while rows := self._store.database.rows(
            f"{_JOB} AND id > :last ORDER BY id LIMIT {_AT_ONCE}", {"last": last}
        ):
            last = str(rows[-1][0])
            yield from (
                str(row[0]) for row in rows if row[0] not in self._done and self._wanted(row)
            )

    def _from_entries(self, job_id: str, judge: Judge) -> None:
        job, entries = self._store.get(job_id), self._store.entries(job_id)
        try:
            verdicts = judge.judge(
                JobCase(job.id, job.checklist, job.site_text, job.subject, entries)
            )
        except (RackwalkError, KeyError):  # another checklist, other names
            self.left += 1
            return
        said = said_in(
            tuple(each for each in entries if each.kind == told.KIND),
            tuple(each for each in entries if each.kind == outcomes.KIND),
        )
        self.figures.job(job.subject, verdicts, *said, ANSWERED)


def again_tables(
    judging: JudgingAgain,
) -> tuple[list[tuple[str, str]], tuple[PrintedTable, ...]]:
    """What was judged, in words, and the tables."""
    titles = {cause.id: cause.title for cause in judging.rules.causes.values()}
    count, rules = judging.figures.jobs, str(judging.rules.info)
    facts = [("Jobs", f"{count}, {judging.from_columns} of them from columns"), ("By", rules)]
    if judging.left:
        why = "their checklist or site cannot be read with these rules"
        facts.append(("Not judged", f"{judging.left}: {why}"))
    return facts, tables_again(judging.figures, titles, rules)
