"""Who is signed in: sessions that end, kept over a restart, of which the file holds no key.

A cookie holds a random token; here stands its hash only, so that whoever reads the file signs in
with nothing of it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from threading import Lock
from time import time

from expert.web.roles import ROLES, Person

LONGEST = 12 * 3600.0  # s: a shift (own choice)
IDLE = 4 * 3600.0  # s without a request (own choice)
FILE = "signed-in.json"


@dataclass(frozen=True)
class SignIn:
    """A session of a person; times in seconds since 1970. `id` is the hash of its token."""

    id: str
    person: Person
    begun: float
    seen: float

    def ended(self, now: float) -> bool:
        """Whether it is over."""
        return not (0 <= now - self.begun < LONGEST and now - self.seen < IDLE)


class SignedIn:
    """The sessions of a server, in a file for its owner only; `path` None keeps them in memory."""

    def __init__(self, path: Path | None, clock: Callable[[], float] = time) -> None:
        self._path = path
        self._clock = clock
        self._lock = Lock()
        self._visits: dict[str, SignIn] = {each.id: each for each in _read(path)}

    def begin(self, person: Person) -> str:
        """A session for a person; the token that its cookie holds."""
        token, now = secrets.token_urlsafe(32), self._clock()
        with self._lock:
            self._visits = {k: v for k, v in self._visits.items() if not v.ended(now)}
            visit = SignIn(_hash(token), person, now, now)
            self._visits[visit.id] = visit
            self._keep()
        return token

    def of(self, token: str) -> SignIn | None:
        """The session of a token, None where there is none or it is over."""
        with self._lock:
            visit = self._visits.get(_hash(token)) if token else None
            if visit is None:
                return None
            now = self._clock()
            if visit.ended(now):
                del self._visits[visit.id]
                self._keep()
                return None
            self._visits[visit.id] = replace(visit, seen=now)
            return visit

    def by_id(self, visit: str) -> SignIn | None:
        """The session of an id."""
        with self._lock:
            return self._visits.get(visit)

    def end(self, visit: SignIn) -> None:
        """Sign out."""
        with self._lock:
            if self._visits.pop(visit.id, None) is not None:
                self._keep()

    def _keep(self) -> None:
        if self._path is None:
            return
        text = json.dumps([asdict(each) for each in self._visits.values()])
        draft = self._path.with_name(f".{self._path.name}.{os.getpid()}")
        with suppress(OSError):  # then a restart signs everybody out
            draft.unlink(missing_ok=True)
            owned = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(owned, "w", encoding="utf-8") as file:
                file.write(text)
            draft.replace(self._path)


def form_token(token: str) -> str:
    """What a form of a session carries, so that no other site can send one in its name."""
    return hmac.new(token.encode(), b"form", hashlib.sha256).hexdigest()


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def _read(path: Path | None) -> list[SignIn]:
    """The sessions of a file; none of what is not as this program writes it."""
    found: list[SignIn] = []
    with suppress(OSError, ValueError, TypeError, KeyError):
        for each in json.loads(path.read_text(encoding="utf-8")) if path else ():
            person = Person(**each["person"])
            if person.role in ROLES:
                visit = SignIn(str(each["id"]), person, float(each["begun"]), float(each["seen"]))
                found.append(visit)
    return found
