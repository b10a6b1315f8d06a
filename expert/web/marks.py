"""Marks by which the same answer, sent twice, is known as one."""

from __future__ import annotations

import re
import secrets

_FORM = re.compile(r"^[A-Za-z0-9_-]{8,64}$")


def new_mark() -> str:
    """A mark that no other answer has."""
    return secrets.token_urlsafe(12)


def mark_of(text: str) -> str:
    """The mark that a form or a script carries; a new one where it carries none that will do."""
    return text if _FORM.match(text) else new_mark()
