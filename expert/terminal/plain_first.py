"""The front end for a real terminal, there before the prompt with its line editing is loaded.

Loading that took as long as all else of a start. A first question that needs none of it is asked
line by line, and the prompt is loaded while the person reads.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace
from functools import partial
from importlib import import_module

from expert.terminal.front import Front, Question
from expert.terminal.layout import Layout
from expert.terminal.line_by_line import PlainFront

_PROMPT = "expert.terminal.prompt"


class PlainFirst:
    """Line by line until a second question, or one that needs more; then the prompt."""

    def __init__(self) -> None:
        self._front: Front = PlainFront()
        self._loading = False
        self._loaded = False

    @property
    def layout(self) -> Layout:
        """The terminal as wide as it is now."""
        layout = self._front.layout
        if self._loaded:
            return layout
        columns = os.get_terminal_size(sys.stdout.fileno()).columns or layout.columns
        return Layout(columns, layout.ascii_only)

    @property
    def interactive(self) -> bool:
        """Always."""
        return True

    def show(self, lines: Iterable[str]) -> None:
        """Write lines above the next prompt."""
        self._front.show(lines)

    def ask(self, question: Question) -> str:
        """The line that was typed. Raises LeaveError, and KeyboardInterrupt for Ctrl-C."""
        if not self._loading and question.is_bare:
            self._loading = True
            return self._front.ask(replace(question, meanwhile=partial(_load, question.meanwhile)))
        if not self._loaded:
            self._loaded = True
            self._front = self._prompt()
        return self._front.ask(question)

    def interrupt(self) -> None:
        """Ctrl-C came while a question waits."""
        self._front.interrupt()

    def leave(self) -> None:
        """The question that waits is to end with LeaveError."""
        self._front.leave()

    def _prompt(self) -> Front:
        try:
            front: Front = import_module(_PROMPT).PromptFront()
        except Exception as error:  # each platform has its own way to fail here
            why = str(error).strip() or type(error).__name__
            message = f"Going on line by line: this terminal cannot be used ({why})."
            self.show(self.layout.text(message))
            return self._front
        return front


def _load(then: Callable[[], object] | None) -> None:
    with suppress(Exception):  # what is wrong with it is told where it is needed
        import_module(_PROMPT)
    if then is not None:
        then()
