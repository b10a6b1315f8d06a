"""Which front end serves: the prompt on a real terminal, else line by line."""

from __future__ import annotations

import os
import sys

from expert.terminal.front import Front
from expert.terminal.line_by_line import PlainFront

_DUMB = ("dumb", "unknown")
VARIABLE = "RACKWALK_PLAIN"


def open_front(plain: bool = False) -> Front:
    """The front end that fits this terminal; `plain` asks for line by line."""
    if plain or os.environ.get(VARIABLE) or not _terminal():
        return PlainFront()
    try:
        from expert.terminal.prompt import PromptFront

        return PromptFront()
    except Exception as error:  # each platform has its own way to fail here
        front = PlainFront()
        why = str(error).strip() or type(error).__name__
        message = f"Going on line by line: this terminal cannot be used ({why})."
        front.show(front.layout.text(message))
        return front


def _terminal() -> bool:
    if os.environ.get("TERM", "").lower() in _DUMB:
        return False
    return sys.stdin.isatty() and sys.stdout.isatty()
