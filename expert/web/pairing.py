"""Short codes that let a phone in: shown where the server runs, good once and not for long."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from time import monotonic

DIGITS = 8  # with so few attempts a guess is hopeless, and it is typed once (own choice)
GOOD_FOR = 600.0  # s, own choice
WRONG_EACH, WRONG_ALL = 5, 30  # attempts in WINDOW, of one address and of all (own choice)
WINDOW = 300.0  # s


@dataclass(frozen=True)
class Code:
    """A code, what it lets in as, and when it ends on the clock."""

    text: str
    role: str
    company: str
    ends: float

    @property
    def shown(self) -> str:
        """'1234 5678'."""
        return f"{self.text[: DIGITS // 2]} {self.text[DIGITS // 2 :]}"


class Pairing:
    """The codes that are good now. `clock` counts seconds."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._codes: list[Code] = []
        self._wrong: list[tuple[float, str]] = []
        self._lock = Lock()

    def new(self, role: str, company: str = "") -> Code:
        """A fresh code for a role."""
        text = f"{secrets.randbelow(10**DIGITS):0{DIGITS}}"
        code = Code(text, role, company, self._clock() + GOOD_FOR)
        with self._lock:
            self._codes = [*self._good(), code]
        return code

    def wait(self, address: str) -> bool:
        """Whether an address, or everybody, has tried too often to try again now."""
        with self._lock:
            since = self._clock() - WINDOW
            self._wrong = [each for each in self._wrong if each[0] > since]
            own = sum(each[1] == address for each in self._wrong)
            return own >= WRONG_EACH or len(self._wrong) >= WRONG_ALL

    def use(self, typed: str, address: str) -> Code | None:
        """The code that was typed, used up by it; None where it is none, which is counted."""
        digits = "".join(each for each in typed if each.isascii() and each.isdigit())
        with self._lock:
            good = self._good()
            found = [each for each in good if hmac.compare_digest(each.text, digits)]
            if not found:
                self._wrong.append((self._clock(), address))
                return None
            self._codes = [each for each in good if each is not found[0]]
            return found[0]

    def _good(self) -> list[Code]:
        now = self._clock()
        return [each for each in self._codes if each.ends > now]
