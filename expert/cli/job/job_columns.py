"""Columns of finished jobs, beside the jobs: made from their entries, and found again."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib.util import find_spec
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from expert.errors import RackwalkError, UsageError
from expert.store.paths import packs_beside

if TYPE_CHECKING:
    from expert.columns.known_values import JobValues
    from expert.inference.evaluate import Evaluator
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist
    from expert.store.jobs import JobStore

FOLDER = "columns"
EXTRA = "pip install 'rackwalk[columns]'"
_KEPT = 32  # evaluators


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
        self._sites: dict[str, tuple[str, Site]] = {}
        self._made: dict[object, Evaluator] = {}
        self.left = 0

    def make(self) -> int:
        """Make and keep what is missing; how many jobs that were. `left` counts those that cannot
        be read with these rules."""
        from expert.columns.flat_rows import BLOCK
        from expert.columns.parquet import SUFFIX, files_in, write

        missing = self._missing()
        self._folder.mkdir(parents=True, exist_ok=True)
        frames = {each.name: each for each in self._frames.values()}
        made, waiting = 0, self._values(missing)
        number = max((int(path.stem) for path in files_in(self._folder)), default=0)
        while some := list(islice(waiting, BLOCK)):
            number += 1
            texts = {each.head.site: self._sites[each.head.site][0] for each in some}
            write(self._folder / f"{number:06d}{SUFFIX}", some, texts, frames)
            made += len(some)
        return made

    def _missing(self) -> list[str]:
        """Finished jobs without columns, or with such of other entries or in another frame."""
        from expert.columns.parquet import files_in, heads

        names = {each.name for each in self._frames.values()}
        rows = self._store.database.rows(
            "SELECT id, chain FROM job WHERE finished IS NOT NULL ORDER BY site, subject, id"
        )
        wanted = {(str(job), str(chain)) for job, chain in rows}
        have: set[tuple[str, str]] = set()
        for path in files_in(self._folder):
            held = {(job, chain) for job, chain, frame in heads(path) if frame in names} & wanted
            if not held:  # all in it was overtaken
                path.unlink()
            have |= held
        return [str(job) for job, chain in rows if (job, chain) not in have]

    def _values(self, jobs: list[str]) -> Iterator[JobValues]:
        for number, job in enumerate(jobs):
            self._tell(number, len(jobs))
            try:
                yield self._one(job)
            except (RackwalkError, KeyError):  # another checklist, other names
                self.left += 1

    def _one(self, job_id: str) -> JobValues:
        from expert.columns.known_values import JobHead, values_of
        from expert.knowledge.load_site import parse_site
        from expert.procedure.history import history_in
        from expert.procedure.recorded import recorded_runner
        from expert.store.chain import text_hash

        job, entries = self._store.get(job_id), self._store.entries(job_id)
        site_hash = text_hash(job.site_text)
        if site_hash not in self._sites:
            site = parse_site(job.site_text, f"site file of {job_id}", self._rules)
            self._sites[site_hash] = job.site_text, site
        if len(self._made) > _KEPT:
            self._made.clear()
        checklist = self._checklists[job.checklist]
        _, evaluator = recorded_runner(
            checklist, self._rules, self._sites[site_hash][1], job.subject, history_in(entries),
            backend="plain", made=self._made,
        )  # fmt: skip
        head = JobHead(job.id, job.chain, site_hash, job.subject)
        frame = self._frames[job.checklist].name
        return values_of(head, frame, checklist, evaluator, entries)
