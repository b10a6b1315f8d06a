"""Long lists a page at a time: what fits on a screen or a phone, and how to see the rest."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TypeVar

from expert.errors import UsageError

LENGTH = 15  # entries of a page; each takes two or three lines of a phone

T = TypeVar("T")


def add_pages(parser: argparse.ArgumentParser) -> None:
    """`--page N` and `--all`."""
    parser.add_argument("--page", type=int, default=1, metavar="N", help="which page (default: 1)")
    parser.add_argument("--all", action="store_true", help="everything, without pages")


def page(found: Sequence[T], options: argparse.Namespace) -> tuple[Sequence[T], str]:
    """The entries of the page asked for, and a line on the others. Raises UsageError."""
    if options.all or len(found) <= LENGTH:
        return found, ""
    pages = -(-len(found) // LENGTH)
    if not 1 <= options.page <= pages:
        raise UsageError(f"--page: there are pages 1 to {pages}.")
    start = (options.page - 1) * LENGTH
    more = f"; --page {options.page + 1} goes on" if options.page < pages else ""
    last = min(start + LENGTH, len(found))
    return found[start:last], f"{start + 1} to {last} of {len(found)}{more}. --all shows them all."
