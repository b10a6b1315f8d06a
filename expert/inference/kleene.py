"""Three-valued logic (Kleene, strong): true, false, unknown (None)."""

from __future__ import annotations

from collections.abc import Iterable

Truth = bool | None


def not_(truth: Truth) -> Truth:
    """Not; unknown stays unknown."""
    return None if truth is None else not truth


def all_(truths: Iterable[Truth]) -> Truth:
    """And: false as soon as one is false."""
    kept = tuple(truths)
    return at_least(len(kept), kept)


def any_(truths: Iterable[Truth]) -> Truth:
    """Or: true as soon as one is true."""
    return at_least(1, tuple(truths))


def at_least(count: int, truths: tuple[Truth, ...]) -> Truth:
    """Whether at least so many are true."""
    certain = truths.count(True)
    if certain >= count:
        return True
    return None if certain + truths.count(None) >= count else False
