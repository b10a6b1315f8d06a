"""What is looked at in the picture of a job while a plan is made, so that it can be compared."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from expert.procedure.entries import Entry
from expert.procedure.picture import Picture

Question = Callable[[Picture, str], Any]
Look = tuple[Question, str, Any]  # by which question, with what key, and what stood there


def closed(picture: Picture, key: str) -> Entry | None:
    """The entry that closes a step."""
    return picture.closed.get(key)


def stood(picture: Picture, key: str) -> Entry | None:
    """The entry that closes a step or closed it before it was reopened."""
    return picture.before(key)


def all_opened(picture: Picture, _: str) -> Mapping[str, Entry]:
    """What was opened, by step key."""
    return picture.opened


def same(look: Look, picture: Picture) -> bool:
    """Whether the very same stands in a picture."""
    at, key, found = look
    now = at(picture, key)
    return now is found or (not isinstance(now, Entry) and bool(now == found))
