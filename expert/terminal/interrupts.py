"""Signals while a job runs: none cuts an entry in half, a closed terminal leaves in order."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from expert.host import leaving_signals
from expert.terminal.front import Front, LeaveError


class Interrupts:
    """Holds Ctrl-C, SIGTERM and SIGHUP back until a question waits, then hands them to it.

    `with interrupts:` around the whole dialogue, `with interrupts.wait():` around each question,
    which then ends with KeyboardInterrupt or LeaveError.
    """

    def __init__(self, front: Front) -> None:
        self._front = front
        self._waiting = False
        self._leave = False
        self._pressed = False
        self._before: dict[int, object] = {}

    def __enter__(self) -> Interrupts:
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGINT, *leaving_signals()):
                self._before[number] = signal.signal(number, self._on)
        return self

    def __exit__(self, *reason: object) -> None:
        for number, handler in self._before.items():
            signal.signal(number, handler)  # type: ignore[arg-type]
        self._before.clear()

    @contextmanager
    def wait(self) -> Iterator[None]:
        """Signals act inside, also one that came before."""
        try:
            self._waiting = True
            if self._leave:
                raise LeaveError
            if self._pressed:
                self._pressed = False
                raise KeyboardInterrupt
            yield
        finally:
            self._waiting = False

    def _on(self, number: int, frame: FrameType | None) -> None:
        if number == signal.SIGINT:
            if self._waiting:
                self._front.interrupt()
            else:
                self._pressed = True
            return
        self._leave = True
        if self._waiting:
            self._front.leave()
