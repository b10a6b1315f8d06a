"""Everything that a running server holds: its companies, who is signed in, codes and limits."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from threading import Lock

from expert.web.limits import RateLimit
from expert.web.live_jobs import LiveJobs
from expert.web.page_request import PageRequest
from expert.web.pairing import Pairing
from expert.web.roles import Person
from expert.web.signed_in import SignedIn


@dataclass(frozen=True)
class HeaderSignIn:
    """A sign-in that stands in front: the header in which it names who comes, from which peers it
    is believed, and who that is here. Whoever it does not know is let in nowhere."""

    header: str
    peers: frozenset[str]
    people: Mapping[str, Person]


@dataclass
class _FormJob:
    """The job of a form, once it is there; a form that is sent twice waits for it."""

    lock: Lock = field(default_factory=Lock)
    job: str = ""


@dataclass
class Service:
    """A running server. `hosts` are the names under which it may be asked besides addresses."""

    companies: Mapping[str, LiveJobs]
    visits: SignedIn
    pairing: Pairing = field(default_factory=Pairing)
    hosts: frozenset[str] = frozenset({"localhost"})
    header: HeaderSignIn | None = None
    secure: bool = False
    # a page and what belongs to it at once, then as a quick hand types; strangers far less
    known: RateLimit = field(default_factory=lambda: RateLimit(60, 10))
    strangers: RateLimit = field(default_factory=lambda: RateLimit(40, 2))
    secret: str = field(default_factory=lambda: secrets.token_hex(32))
    _begun: dict[str, _FormJob] = field(default_factory=dict)
    _said: dict[tuple[str, str], list[str]] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def jobs(self, ask: PageRequest) -> LiveJobs:
        """The jobs of the company of whoever asks, and of no other."""
        return self.companies[ask.person.company]

    def say(self, ask: PageRequest, *lines: str) -> None:
        """Keep what is shown once on the next page of a job."""
        with self._lock:
            if len(self._said) > 2000:  # pages that were never looked at again
                self._said.pop(next(iter(self._said)))
            self._said.setdefault((ask.visit, ask.job), []).extend(lines)

    def said(self, ask: PageRequest) -> list[str]:
        """What was kept for this page, once."""
        with self._lock:
            return self._said.pop((ask.visit, ask.job), [])

    def begun(self, ask: PageRequest, once: str, begin: Callable[[], str]) -> str:
        """The job that a form begins; of a form that is sent twice it is the same job."""
        key = f"{ask.visit} {once}"
        with self._lock:
            if len(self._begun) > 2000:
                self._begun.pop(next(iter(self._begun)))
            begun = self._begun.setdefault(key, _FormJob())
        with begun.lock:
            begun.job = begun.job or begin()
            return begun.job
