"""Holds what was found against what a rulebase explains."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TypeVar

T = TypeVar("T")


def waive(
    found: Iterable[T], name_of: Callable[[T], str], reasons: Mapping[str, str]
) -> tuple[list[T], dict[T, str], tuple[str, ...]]:
    """What is not explained, the reason for each that is, and reasons for what is not there.

    A reason names a thing, or the beginning of its name up to a ' / '.
    """
    left: list[T] = []
    waived: dict[T, str] = {}
    needed: set[str] = set()
    for each in found:
        key = next((key for key in _keys(name_of(each)) if key in reasons), None)
        if key is None:
            left.append(each)
        else:
            waived[each] = reasons[key]
            needed.add(key)
    return left, waived, tuple(key for key in reasons if key not in needed)


def _keys(name: str) -> Iterator[str]:
    words = name.split(" / ")
    for count in range(len(words), 0, -1):
        yield " / ".join(words[:count])
