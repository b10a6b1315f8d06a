"""How far a long command is, on the stream that is not read by other programs."""

from __future__ import annotations

import sys
import time

_AFTER, _EVERY = 1.0, 0.2  # s (own choice)


class Progress:
    """Says it where somebody looks on, and only of what takes longer than a second."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._next = time.monotonic() + _AFTER
        self._shown = 0

    def __call__(self, done: int, of: int = 0) -> None:
        """So many are done, of how many where that is known."""
        now = time.monotonic()
        if now < self._next or not sys.stderr.isatty():
            return
        self._next = now + _EVERY
        text = f"{done:,} of {of:,} {self._what}" if of else f"{done:,} {self._what}"
        sys.stderr.write(f"\r{text:<{self._shown}}")
        sys.stderr.flush()
        self._shown = len(text)

    def end(self) -> None:
        """Take the line away."""
        if self._shown:
            sys.stderr.write(f"\r{'':<{self._shown}}\r")
            sys.stderr.flush()
            self._shown = 0
