"""What a front end does: shows lines and asks one question at a time."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from threading import Thread
from typing import Protocol

from expert.made_when_used import dataclass
from expert.terminal.layout import Layout


class LeaveError(Exception):
    """The person leaves: end of input, a second Ctrl-C, Ctrl-D, or a closed terminal."""


def _anything(text: str) -> str:
    return ""


def _nothing(columns: int) -> str:
    return ""


@dataclass(frozen=True)
class Question:
    """One line to be typed.

    `check` gives what is wrong with a text, nothing where it will do; `status` a line of state
    and keys for so many columns; `ticking` says that it changes with time; `meanwhile` is done
    beside it while it waits.
    """

    label: str
    check: Callable[[str], str] = _anything
    status: Callable[[int], str] = _nothing
    ticking: bool = False
    meanwhile: Callable[[], object] | None = None

    @property
    def is_bare(self) -> bool:
        """Whether a line will do as it is read, with nothing shown beside it."""
        return self.check is _anything and self.status is _nothing

    def begin_meanwhile(self) -> None:
        """Begins what is done beside it."""
        if self.meanwhile is not None:
            Thread(target=self.meanwhile, daemon=True).start()


class Front(Protocol):
    """A way to talk with the person."""

    @property
    def layout(self) -> Layout:
        """The screen as it is now."""
        ...

    @property
    def interactive(self) -> bool:
        """Whether a person sits there, who may be asked to press Enter before reading on."""
        ...

    def show(self, lines: Iterable[str]) -> None:
        """Show lines below everything shown before."""
        ...

    def ask(self, question: Question) -> str:
        """The line that was typed. Raises LeaveError, and KeyboardInterrupt for Ctrl-C."""
        ...

    def interrupt(self) -> None:
        """Ctrl-C came as a signal while a question waits; called by the signal's handler."""
        ...

    def leave(self) -> None:
        """The question that waits is to end with LeaveError; called by a signal's handler."""
        ...
