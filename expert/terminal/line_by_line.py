"""The line-by-line front end: append-only, words and numbers, for pipes and screen readers."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from typing import TextIO

from expert.host import columns, shows_only_ascii
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import Layout, to_ascii


class PlainFront:
    """Reads lines from one stream and writes lines to another.

    Where the input is no terminal, each line read is written too, so that the output alone tells
    the whole dialogue.
    """

    def __init__(self, source: TextIO | None = None, sink: TextIO | None = None) -> None:
        self._source = sys.stdin if source is None else source
        self._sink = sys.stdout if sink is None else sink
        self._echo = not self._source.isatty()
        reconfigure = getattr(self._source, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")

    @property
    def layout(self) -> Layout:
        """The terminal's width, or COLUMNS, or 80."""
        return Layout(columns(), shows_only_ascii(self._sink))

    @property
    def interactive(self) -> bool:
        """Whether the input is a terminal."""
        return not self._echo

    def show(self, lines: Iterable[str]) -> None:
        """Write lines. Raises LeaveError where nobody reads them any more."""
        self._write("".join(f"{line}\n" for line in lines))

    def ask(self, question: Question) -> str:
        """Write the label and read one line. Raises LeaveError at the end of the input."""
        label = to_ascii(question.label) if self.layout.ascii_only else question.label
        self._write(label)
        question.begin_meanwhile()
        try:
            line = self._source.readline()
        except OSError:
            raise LeaveError from None
        if not line:
            self._write("\n")
            raise LeaveError
        typed = line.lstrip("\ufeff").strip()
        if self._echo:
            self.show([to_ascii(typed) if self.layout.ascii_only else typed])
        return typed

    def interrupt(self) -> None:
        """Ends the reading of a line."""
        raise KeyboardInterrupt

    def leave(self) -> None:
        """Ends the reading of a line for good."""
        raise LeaveError

    def _write(self, text: str) -> None:
        try:
            self._sink.write(text)
            self._sink.flush()
        except OSError:
            if self._sink is sys.stdout:  # or Python complains again at its own end
                os.dup2(os.open(os.devnull, os.O_WRONLY), self._sink.fileno())
            raise LeaveError from None
