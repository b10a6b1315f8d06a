"""Sentences on standard error: on a terminal no word of them is cut at its edge."""

from __future__ import annotations

import sys
from contextlib import suppress

from expert.errors import harmless
from expert.host import columns


def complain(text: str) -> None:
    """Say it; a closed terminal hears nothing."""
    with suppress(OSError):
        sys.stderr.write(f"{for_terminal(harmless(text))}\n")


def for_terminal(text: str) -> str:
    """The text with its long lines broken between words, where a person reads it.

    Lines that are set in (a piece of a file with its mark) and commands to be typed stay whole.
    """
    if not sys.stderr.isatty():
        return text
    import textwrap

    lines: list[str] = []
    for line in text.splitlines():
        command = line.startswith("rackwalk ") and ": " not in line
        if command or line.startswith(" ") or len(line) <= columns():
            lines.append(line)
        else:
            lines += textwrap.wrap(
                line, columns(), break_long_words=False, break_on_hyphens=False
            )  # fmt: skip
    return "\n".join(lines)
