"""What the trade calls a quantity or cause beside its title, and what a wrong name may have meant.

A synonym may belong to several entries: a search finds them all, and where one is typed it is
asked which is meant. It may not be the id or the title of another entry, which would hide it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import Protocol, TypeVar

SHORT = 2  # letters up to which a word is looked for whole: 'TD' is not in 'outdoor'
_ALIKE = 0.8  # of two words that may be one mistyped; 'amps' and 'caps' have 0.75 (own choice)
_LISTED = 4


class Named(Protocol):
    """An entry with an id, a title and further names."""

    @property
    def id(self) -> str: ...  # noqa: D102
    @property
    def title(self) -> str: ...  # noqa: D102
    @property
    def also(self) -> tuple[str, ...]: ...  # noqa: D102


N = TypeVar("N", bound=Named)


def plain_name(text: str) -> str:
    """A name without regard to capitals, hyphens, commas and spaces."""
    return " ".join(re.sub(r"[_,-]", " ", text).lower().split())


def names_of(entry: Named) -> tuple[str, ...]:
    """All that an entry is called, in plain form."""
    return tuple(map(plain_name, (entry.id, entry.title, *entry.also)))


def called(name: str, entries: Iterable[N]) -> list[N]:
    """The entries of exactly this id or title; else those of exactly this synonym."""
    wanted, known = plain_name(name), list(entries)
    exact = [each for each in known if wanted in names_of(each)[:2]]
    return exact or [each for each in known if wanted in names_of(each)]


def holding(words: str, entries: Iterable[N]) -> list[N]:
    """The entries with a name that holds these words, those of exactly this name first."""
    wanted, known = plain_name(words), list(entries)
    if not wanted:
        return known
    end = r"\b" if len(wanted) <= SHORT else ""
    begins = re.compile(r"\b" + re.escape(wanted) + end)
    found = [each for each in known if any(begins.search(name) for name in names_of(each))]
    if not found and not end:
        found = [each for each in known if any(wanted in name for name in names_of(each))]
    return sorted(found, key=lambda each: wanted not in names_of(each))


def meant(name: str, entries: Mapping[str, Named], others: Collection[str] = ()) -> str:
    """'Did you mean x?' for the synonym or the mistyped name of an entry, or nothing.

    `others` are further words that may have been meant. Each word typed must be like one of the
    name, so that nothing of another kind is suggested.
    """
    if found := called(name, entries.values()):
        ids = [f"'{each.id}'" for each in found[:_LISTED]]
        more = f", and {len(found) - _LISTED} more" if len(found) > _LISTED else ""
        return f"Did you mean {' or '.join(ids)}{more}?"
    from difflib import get_close_matches  # most names are spelt right

    ids_of = {key: key for key in (*entries, *others)}
    typed = plain_name(name).split()
    for near in get_close_matches(name, ids_of, n=3, cutoff=0.6):
        own = plain_name(near).split()
        if all(any(alike(word, each) for each in own) for word in typed):
            return f"Did you mean '{near}'?"
    return ""


def alike(word: str, other: str) -> bool:
    """Whether one word may be the other mistyped, or its beginning."""
    if sorted(word) == sorted(other) or (len(word) > SHORT and other.startswith(word)):
        return True
    from difflib import SequenceMatcher

    return SequenceMatcher(None, word, other).ratio() >= _ALIKE
