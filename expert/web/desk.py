"""What the pages are given of the program: jobs opened, begun, reported, and many jobs together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from expert.inference.evaluate import Evaluator
from expert.knowledge.site import Site
from expert.procedure.checklist import Checklist
from expert.procedure.log import Ending
from expert.procedure.picture import Picture
from expert.procedure.runner import Runner
from expert.records.tables import PrintedTable
from expert.sites.learned import Learned
from expert.store.job_row import Job
from expert.store.jobs import JobStore


@dataclass(frozen=True)
class Opened:
    """A job with what judges it; `ending` is what it notes when it is finished, `changed` says
    what is not as it was when it began."""

    job: Job
    runner: Runner
    evaluator: Evaluator
    ending: Ending
    changed: tuple[str, ...] = ()


@dataclass(frozen=True)
class JobFilter:
    """Which jobs are meant, as they were typed; '' leaves a filter out."""

    site: str = ""
    who: str = ""
    checklist: str = ""
    subject: str = ""
    since: str = ""
    until: str = ""
    urgency: str = ""

    @property
    def any(self) -> bool:
        """Whether any filter is set."""
        return any(vars(self).values())


@dataclass(frozen=True)
class Records:
    """Tables with facts above and notes below them, and the names a filter can have."""

    tables: Sequence[PrintedTable]
    facts: Sequence[tuple[str, str]] = ()
    notes: Sequence[str] = ()
    known: Mapping[str, Sequence[str]] = field(default_factory=dict)


class Desk(Protocol):
    """The jobs of one company. Every method may raise RackwalkError with a sentence."""

    def store(self) -> JobStore:
        """The job store, opened anew for the thread that asks."""
        ...

    def warm(self) -> None:
        """Read rules and checklists, so that the first page does not wait for them."""
        ...

    def open(self, store: JobStore, job: Job) -> Opened:
        """A recorded job."""
        ...

    def sites(self, store: JobStore) -> Mapping[str, Site]:
        """The stores at which a job can be begun, by their names."""
        ...

    def checklists(self) -> Mapping[str, Checklist]:
        """The checklists that can be begun, by their ids."""
        ...

    def fitting(self, checklist: Checklist, site: Site) -> Sequence[tuple[str, str]]:
        """Id and title of what a checklist can be run on at a site."""
        ...

    def begin(self, store: JobStore, checklist: str, site: Site, subject: str, who: str) -> str:
        """A new job; its id."""
        ...

    def finished(self, store: JobStore, opened: Opened) -> None:
        """Keep a job that was just finished in short, for audits."""
        ...

    def learned(self, store: JobStore, opened: Opened, picture: Picture) -> Sequence[Learned]:
        """What a finished job knows of its store and the store does not; nothing where the store
        is a file."""
        ...

    def keep_learned(
        self, store: JobStore, opened: Opened, picture: Picture, wanted: Learned, who: str
    ) -> Sequence[str]:
        """Keep one of them for the store; sentences that say what was kept."""
        ...

    def report(self, store: JobStore, job: Job, view: str) -> str:
        """One view of a job as a HTML page."""
        ...

    def open_items(self, store: JobStore, wanted: JobFilter) -> Records:
        """What earlier jobs left open, the most urgent first."""
        ...

    def refrigerant(self, store: JobStore, wanted: JobFilter) -> Records:
        """The refrigerant log of a site."""
        ...

    def audit(self, store: JobStore, wanted: JobFilter) -> Records:
        """How the jobs were done."""
        ...
