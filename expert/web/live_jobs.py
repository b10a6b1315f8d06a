"""Jobs that are open in browsers: one session each, taken by one request after the other.

The session is that of whoever asks, for as long as the request lasts; what other programs enter
is taken in before it.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from threading import Lock, RLock

from expert.knowledge.hazard_model import Caution
from expert.procedure.job_at_work import wall_clock
from expert.procedure.people import others_at
from expert.procedure.screens import WORKING
from expert.procedure.session import Session
from expert.store.job_row import Job
from expert.store.store_errors import NoSuchJobError
from expert.terminal.others import answered_cautions
from expert.terminal.texts import Texts
from expert.web.desk import Desk, Opened
from expert.web.roles import DO, Person
from expert.web.stores import Stores

MOST = 300  # jobs that are kept open; one that is asked for again is read again (own choice)


@dataclass
class AtWork:
    """A job while a request has it: its session and the texts of its steps."""

    opened: Opened
    session: Session
    texts: Texts

    @property
    def job(self) -> Job:
        """What it was begun with."""
        return self.opened.job

    @property
    def comes_too(self) -> tuple[Caution, ...]:
        """The cautions that others answered before somebody came who has entered nothing yet."""
        entries, name = self.session.picture.entries, self.session.who
        if any(each.who == name for each in entries):
            return ()
        return tuple(answered_cautions(self.session))

    def stands(self, person: Person) -> None:
        """Ask what is at the place where a person said to be; of who said nothing, everything."""
        rooms = others_at(self.session.picture.entries, "")
        self.session.at = tuple(room for room, name in rooms.items() if name == person.name)
        self.session.divided = bool(self.session.at)

    def led(self) -> None:
        """Take the texts of another depth, where one was chosen."""
        if self.texts.depth != self.session.depth:
            self.texts = Texts(self.opened.runner, self.opened.evaluator, depth=self.session.depth)


@dataclass
class _Live:
    lock: RLock = field(default_factory=RLock)
    at_work: AtWork | None = None


class LiveJobs:
    """The open jobs of one company; `now` is asked for the time of each entry."""

    def __init__(self, desk: Desk, now: Callable[[], datetime] = wall_clock) -> None:
        self.desk = desk
        self.now = now
        self.stores = Stores(desk.store)
        self._live: OrderedDict[str, _Live] = OrderedDict()
        self._lock = Lock()

    @contextmanager
    def at(self, job_id: str, person: Person) -> Iterator[AtWork]:
        """A job for a person, with all that was entered until now. Raises NoSuchJobError.

        What needs no answer is closed for who may work on it; who may not changes nothing.
        """
        live = self._one(job_id)
        with live.lock:
            if live.at_work is None:
                live.at_work = self._opened(job_id)
            work = live.at_work
            work.session.who = person.name
            work.session.mark("")  # that of an answer which came to nothing belongs to nobody else
            work.session.catch_up()
            work.stands(person)
            if person.may(DO) and not work.session.finished:
                if not work.session.depth_chosen:
                    work.session.lead(WORKING)
                work.session.settle()
            work.led()
            yield work

    def job(self, job_id: str) -> Job:
        """A job by its whole id. Raises NoSuchJobError."""
        job = self.stores.here.get(job_id)
        if job.id != job_id:
            raise NoSuchJobError(f"There is no job '{job_id}'.")
        return job

    def entries(self, job_id: str) -> int:
        """How many entries a job has. Raises NoSuchJobError."""
        rows = self.stores.here.database.rows(
            "SELECT entries FROM job WHERE id = :job", {"job": job_id}
        )
        if not rows:
            raise NoSuchJobError(f"There is no job '{job_id}'.")
        return int(rows[0][0])

    def _one(self, job_id: str) -> _Live:
        with self._lock:
            live = self._live.pop(job_id, None) or _Live()
            self._live[job_id] = live
            if len(self._live) > MOST:
                self._live.popitem(last=False)
            return live

    def _opened(self, job_id: str) -> AtWork:
        opened = self.desk.open(self.stores.here, self.job(job_id))
        job = opened.job.id
        session = Session(
            opened.runner, self.stores, job, self.stores.here.entries(job), now=self.now,
            ending=(self.stores, opened.ending),
            others=lambda seq: self.stores.here.entries(job, after=seq),
        )  # fmt: skip
        return AtWork(opened, session, Texts(opened.runner, opened.evaluator, depth=session.depth))
