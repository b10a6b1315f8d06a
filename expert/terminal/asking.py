"""Asking one line: Ctrl-C twice leaves, and letters work inside of every question."""

from __future__ import annotations

from collections.abc import Callable

from expert.errors import ReadingError
from expert.terminal.front import Front, LeaveError, Question
from expert.terminal.interrupts import Interrupts

BACK, HELP, LEAVE = ("b", "back"), ("?", "help"), ("q", "quit")
_LETTERS = ("", *BACK, *HELP, *LEAVE)
INSIDE = "Enter or b goes back to the step; q stops and keeps all that was entered."
_CLEARED = "The line was cleared. Ctrl-C again stops; all that was entered is kept."


class Asking:
    """A front end with the signals that end a question."""

    def __init__(self, front: Front) -> None:
        self.front = front
        self.interrupts = Interrupts(front)
        self._pressed = False

    def say(self, text: str) -> None:
        """Show a paragraph."""
        self.front.show(self.front.layout.text(text))

    def ask(self, question: Question) -> str:
        """One line. The first Ctrl-C asks again, a second one leaves."""
        while True:
            try:
                with self.interrupts.wait():
                    typed = self.front.ask(question)
            except KeyboardInterrupt:
                if self._pressed:
                    raise LeaveError from None
                self._pressed = True
                self.front.show(["", *self.front.layout.text(_CLEARED)])
                continue
            self._pressed = False
            return typed

    def inside(self, label: str, check: Callable[[str], str] = lambda text: "") -> str | None:
        """One line of a question inside a step; None goes back. Letters work here too."""

        def wrong(text: str) -> str:
            return "" if text.lower() in _LETTERS else check(text)

        while True:
            typed = self.ask(Question(label, check=wrong))
            if typed.lower() in LEAVE:
                raise LeaveError
            if not typed or typed.lower() in BACK:
                return None
            if typed.lower() not in HELP:
                return typed
            self.say(INSIDE)


def refusal(attempt: Callable[[], object]) -> str:
    """The sentence with which something is refused; nothing where it is taken."""
    try:
        attempt()
    except ReadingError as error:
        return str(error)
    return ""
