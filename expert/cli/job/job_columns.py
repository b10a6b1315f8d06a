"""Columns of finished jobs, beside the jobs: made from their entries, and found again."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import RackwalkError, UsageError
from expert.store.paths import packs_beside

if TYPE_CHECKING:
    from expert.columns.known_values import Became, JobHead, JobValues, ToldThen
    from expert.inference.evaluate import Evaluator
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist
    from expert.procedure.entries import Entry
    from expert.procedure.log import KnownText
    from expert.store.jobs import JobStore

FOLDER = "columns"
EXTRA = "pip install 'rackwalk[columns]'"
_KEPT = 32  # evaluators
_AT_ONCE = 256  # jobs that are looked up together
_ABANDONED = 3600  # s; an unfinished file that old belongs to nobody any more (own choice)


def columns_folder(place: Path | str) -> Path:
    """Where the columns of the jobs of a place are."""
    return packs_beside(place) / FOLDER


def can_use_columns() -> bool:
    """Whether what reads and writes columns is installed."""
    return find_spec("pyarrow") is not None


def can_use_workers() -> bool:
    """Whether what judges columns on other machines is installed."""
    return can_use_columns() and find_spec("distributed") is not None


def need_columns() -> None:
    """Raises UsageError where it is not."""
    if not can_use_columns():
        raise UsageError(f"Columns need pyarrow, which is not installed: {EXTRA}")


class ColumnMaker:
    """Makes the columns that are missing, by the rules and checklists at hand.

    What was kept when a job was finished is gathered; of others it is worked out from the entries.
    `tell` hears how many jobs are done, of how many.
    """

    def __init__(
        self, store: JobStore, folder: Path, rules: Rulebase, checklists: Mapping[str, Checklist],
        tell: Callable[[int, int], None],
    ) -> None:  # fmt: skip
        from expert.columns.frame import frame_of

        self._store = store
        self._folder = folder
        self._rules = rules
        self._checklists = checklists
        self._tell = tell
        self._frames = {name: frame_of(each, rules) for name, each in checklists.items()}
        self._texts: dict[str, str] = {}
        self._sites: dict[str, Site] = {}
        self._made: dict[object, Evaluator] = {}
        self.left = 0
        self.derived = 0

    def make(self) -> int:
        """Make and keep what is missing; how many jobs that were. `left` counts those that cannot
        be read with these rules, `derived` those of which nothing was kept at their end."""
        from expert.columns.flat_rows import BLOCK
        from expert.columns.parquet import SUFFIX, files_in, write

        self._folder.mkdir(parents=True, exist_ok=True)
        self._without_drafts()
        missing = self._missing()
        frames = {each.name: each for each in self._frames.values()}
        made, waiting = 0, self._values(missing)
        numbers = (path.stem.partition("-")[0] for path in files_in(self._folder))
        number = max((int(each) for each in numbers if each.isdecimal()), default=0)
        while some := list(islice(waiting, BLOCK)):
            number += 1
            texts = {each.head.site: self._texts[each.head.site] for each in some}
            # another program may make some now: no file of one is written over by the other
            own = self._folder / f"{number:06d}-{os.urandom(3).hex()}{SUFFIX}"
            write(own, some, texts, frames)
            made += len(some)
        return made

    def _without_drafts(self) -> None:
        """Clear away what a program that was killed has left half written."""
        from expert.columns.parquet import PART

        for path in self._folder.glob(f"*{PART}"):
            with suppress(OSError):  # its owner was quicker
                if time.time() - path.stat().st_mtime > _ABANDONED:
                    path.unlink()

    def _missing(self) -> list[str]:
        """Finished jobs without columns, or with such of other entries or in another frame."""
        from expert.columns.parquet import UnreadableColumnsError, files_in, heads

        names = {each.name for each in self._frames.values()}
        rows = self._store.database.rows(
            "SELECT id, chain FROM job WHERE finished IS NOT NULL ORDER BY site, subject, id"
        )
        wanted = {(str(job), str(chain)) for job, chain in rows}
        have: set[tuple[str, str]] = set()
        for path in files_in(self._folder):
            try:
                here = {(job, chain) for job, chain, frame in heads(path) if frame in names}
            except UnreadableColumnsError:
                here = set()
            held = (here & wanted) - have
            if not held:  # all in it was overtaken, is damaged, or stands elsewhere too
                path.unlink(missing_ok=True)
            have |= held
        return [str(job) for job, chain in rows if (job, chain) not in have]

    def _values(self, jobs: list[str]) -> Iterator[JobValues]:
        from expert.report import outcomes, told
        from expert.store.kept_known import kept_known

        for begin in range(0, len(jobs), _AT_ONCE):
            some = jobs[begin : begin + _AT_ONCE]
            kept = kept_known(self._store.database, some)
            heads = {head.job: (head, name) for head, name in self._heads(some)}
            then = self._store.entries_of(some, told.KIND)
            became = self._store.entries_of(some, outcomes.KIND)
            for number, job in enumerate(some, begin):
                self._tell(number, len(jobs))
                if job not in heads:  # it was taken out meanwhile
                    continue
                values = self._kept(*heads[job], kept.get(job)) or self._derived(*heads[job])
                if values is not None:
                    said = said_in(then[job], became[job])
                    yield replace(values, told=said[0], became=said[1])

    def _heads(self, jobs: list[str]) -> Iterator[tuple[JobHead, str]]:
        """The heads of some jobs with the names of their checklists; the texts of their sites."""
        from expert.columns.known_values import JobHead

        named = {f"j{number}": job for number, job in enumerate(jobs)}
        found = self._store.database.rows(
            "SELECT id, chain, site_hash, subject, checklist FROM job "  # noqa: S608
            f"WHERE id IN ({', '.join(f':{name}' for name in named)})",
            named,
        )
        for job, chain, site, subject, checklist in found:
            if site not in self._texts:
                rows = self._store.database.rows(
                    "SELECT text FROM site_file WHERE hash = :hash", {"hash": site}
                )
                self._texts[str(site)] = str(rows[0][0])
            yield JobHead(str(job), str(chain), str(site), str(subject)), str(checklist)

    def _kept(self, head: JobHead, checklist: str, kept: KnownText | None) -> JobValues | None:
        """What was kept when the job was finished, where it holds in the frame of now."""
        from expert.columns.packed_values import unpacked

        frame = self._frames.get(checklist)
        if kept is None or frame is None or kept.frame != frame.name:
            return None
        try:
            return unpacked(head, kept.text)
        except ValueError:
            return None

    def _derived(self, head: JobHead, checklist: str) -> JobValues | None:
        """What follows from the entries; None where they cannot be read with these rules."""
        try:
            found = self._one(head, checklist)
        except (RackwalkError, KeyError):  # another checklist, other names
            self.left += 1
            return None
        self.derived += 1
        return found

    def _one(self, head: JobHead, name: str) -> JobValues:
        from expert.columns.known_values import values_of
        from expert.knowledge.load_site import parse_site
        from expert.procedure.history import history_in
        from expert.procedure.recorded import recorded_runner

        checklist, entries = self._checklists[name], self._store.entries(head.job)
        if head.site not in self._sites:
            text = self._texts[head.site]
            self._sites[head.site] = parse_site(text, f"site file of {head.job}", self._rules)
        if len(self._made) > _KEPT:
            self._made.clear()
        _, evaluator = recorded_runner(
            checklist, self._rules, self._sites[head.site], head.subject, history_in(entries),
            backend="plain", made=self._made,
        )  # fmt: skip
        return values_of(head, self._frames[name].name, checklist, evaluator, entries)


def said_in(
    told: tuple[Entry, ...], became: tuple[Entry, ...]
) -> tuple[tuple[ToldThen, ...] | None, tuple[Became, ...]]:
    """What a job was told when it was finished, and how that turned out."""
    from expert.columns.known_values import Became, ToldThen
    from expert.report.outcomes import outcomes_in
    from expert.report.told import told_in

    last = told_in(told)
    return (
        None
        if last is None
        else tuple(ToldThen(e.subject, e.cause, e.words) for e in last.findings),
        tuple(Became(e.subject, e.cause, e.actual, e.answer) for e in outcomes_in(became)),
    )
