"""A program on a terminal of its own, of a given size, with Ctrl-C and hang-up as signals."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Mapping

ESCAPES = re.compile(r"\x1b(?:\[[0-9;?]*[ -/]*[@-~]|\][^\x07]*\x07|[()][A-Z0-9]|[=>78])")


class PtyChild:
    """`rackwalk` on a pseudo-terminal."""

    def __init__(self, *words: str, columns: int, rows: int, extra: Mapping[str, str]) -> None:
        self._ours, theirs = pty.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        environment = {**os.environ, "TERM": "xterm", "PROMPT_TOOLKIT_NO_CPR": "1", **extra}
        for name in ("COLUMNS", "LINES", "RACKWALK_PLAIN"):
            environment.pop(name, None)
        self.process = subprocess.Popen(
            [sys.executable, "-m", "expert", *words],
            stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),
        )  # fmt: skip
        os.close(theirs)
        self.raw = ""

    @property
    def text(self) -> str:
        """Everything written so far without escape sequences."""
        return ESCAPES.sub("", self.raw)

    def wait_for(self, wanted: str, after: int = 0, seconds: float = 20.0) -> int:
        """Reads until a text has appeared after a position; gives the position behind it."""
        end = time.monotonic() + seconds
        while (found := self.text.find(wanted, after)) < 0:
            if not self.read(end - time.monotonic()):
                raise AssertionError(f"{wanted!r} did not appear in:\n{self.text[after:]}")
        return found + len(wanted)

    def type(self, text: str) -> None:
        """Types a text as it is."""
        os.write(self._ours, text.encode())

    def hang_up(self) -> None:
        """Closes the terminal, as a dropped connection does."""
        os.close(self._ours)
        self._ours = -1

    def wait(self, seconds: float = 20.0) -> int:
        """Reads to the end; gives the exit code."""
        end = time.monotonic() + seconds
        while self._ours >= 0 and self.read(end - time.monotonic()):
            pass
        return self.process.wait(max(end - time.monotonic(), 1.0))

    def end(self) -> None:
        """Ends it for certain."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        if self._ours >= 0:
            os.close(self._ours)
            self._ours = -1

    def read(self, seconds: float) -> bool:
        """Reads what comes within some seconds; whether anything did."""
        if seconds <= 0 or not select.select([self._ours], [], [], seconds)[0]:
            return False
        try:
            data = os.read(self._ours, 65536)
        except OSError:
            return False
        self.raw += data.decode(errors="replace")
        return bool(data)
