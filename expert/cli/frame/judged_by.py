"""Says once a command by what is judged, where that is not the rulebase of the program."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from expert.errors import harmless
from expert.host import columns

if TYPE_CHECKING:
    from pathlib import Path

_told: set[str] = set()


def begin() -> None:
    """A new command: nothing was said yet."""
    _told.clear()


def tell(info: object, folder: Path | None) -> None:
    """Say it, on the stream that is not read by other programs."""
    text = f"Judged by {info} in {folder}."
    if folder is not None and text not in _told:
        _told.add(text)
        text = f"rackwalk: {harmless(text)}"
        if sys.stderr.isatty():
            import textwrap

            text = textwrap.fill(text, columns(), break_long_words=True)
        sys.stderr.write(f"{text}\n")
