"""What can go wrong, and where.

Problems with YAML are values (`Problem`) that are collected and shown together.
Exceptions are for what cannot go on; each carries the exit code of the command.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from expert.made_when_used import dataclass


class Place(NamedTuple):  # 130,000 are made of all YAML: a frozen data class takes four times
    """A position in a file; line and column count from 1, 0 where unknown."""

    path: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        parts = [self.path]
        if self.line:
            parts.append(str(self.line))
            if self.column:
                parts.append(str(self.column))
        return ":".join(parts)


_WIDEST = 160  # signs of a line that are shown: a long line of a file still fits (own choice)


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong in a file, in words that its author can act on."""

    code: str
    message: str
    place: Place
    hint: str = ""

    def excerpt(self) -> str:
        """The line of the file with a mark below the column, or nothing if it cannot be read."""
        if not self.place.line:
            return ""
        try:
            from pathlib import Path  # most commands have nothing to point at

            text = Path(self.place.path).read_text(encoding="utf-8-sig").split("\n")
        except (OSError, ValueError):  # gone, a folder, not UTF-8, or no path at all
            return ""
        if self.place.line > len(text):
            return ""
        line = text[self.place.line - 1].rstrip("\r").replace("\t", " ")
        mark = max(self.place.column - 1, 0)
        if len(line) > _WIDEST:  # only what stands about the mark
            begin = max(mark - _WIDEST // 2, 0)
            line, mark = line[begin : begin + _WIDEST], mark - begin
        return f"    {line}\n    {' ' * mark}^"

    def __str__(self) -> str:
        lines = [f"{self.place}: {self.message} [{self.code}]"]
        if excerpt := self.excerpt():
            lines.append(excerpt)
        if self.hint:
            lines.append(f"    {self.hint}")
        return "\n".join(lines)


class RackwalkError(Exception):
    """Base of every error that a user is shown. Ends with exit code 70 (internal)."""

    exit_code = 70


class UsageError(RackwalkError):
    """The command was called in a way that cannot work."""

    exit_code = 2


class MovedOnError(UsageError):
    """Somebody else entered something meanwhile, so nothing of this was entered."""


class PackError(RackwalkError):
    """Rules, limits, checklists or a site file are wrong; holds every problem found."""

    exit_code = 3

    def __init__(self, problems: Iterable[Problem]):
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class ReadingError(RackwalkError):
    """A reading is missing or cannot be accepted."""

    exit_code = 4


class Stopped(RackwalkError):
    """The person stopped; the job is on disk and can be resumed."""

    exit_code = 5


class NotWritten(RackwalkError):
    """A file that was asked for could not be written: the disk is full, or may not be written."""

    exit_code = 6


# what moves a cursor, and what turns the direction of writing
_HARMFUL = "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]"


def harmless(text: str) -> str:
    """A text whose signs that a terminal would obey are shown as a mark instead."""
    return re.sub(_HARMFUL, "\ufffd", text)


def nearest(word: str, known: Iterable[str]) -> str:
    """'Did you mean x?' for the nearest known word, or nothing."""
    from difflib import get_close_matches  # most commands are spelt right

    found = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"Did you mean '{found[0]}'?" if found else ""
