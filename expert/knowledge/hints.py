"""What a person may have meant by words that name nothing: right, or nothing at all.

By spelling alone a real word leads astray ('drain' looks like 'drier'), so a word of the trade is
never taken for another, and what is suggested shares every word that tells what it is about.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import NamedTuple

from expert.knowledge.synonyms import SHORT, Named, alike, names_of, plain_name

_SMALL = frozenset(re.findall(r"\w+", "a an the of on in at to it its for and is"))
_MOST = 3  # of as many that fit alike none is suggested


class Called(NamedTuple):
    """What has an id and a title, and no other names."""

    id: str
    title: str
    also: tuple[str, ...] = ()


def hint_by_words(
    text: str,
    entries: Iterable[Named],
    words: Collection[str] = (),
    *,
    verb_first: bool = False,
    by_id: bool = False,
) -> str:
    """'Did you mean x?' for the entry one of whose names has the words of a text; else nothing.

    A word may be misspelt, but not one of `words` or of another entry. With `verb_first` the first
    word says what to do, and may be another one of that kind; `by_id` names it by its id. What
    stands behind a figure is an amount.
    """
    typed = [w for w in plain_name(re.split(r"\d", text)[0]).split() if w not in _SMALL]
    names = {
        each.id if by_id else each.title: [_words_in(name) for name in names_of(each)]
        for each in entries
    }
    real = {*words}.union(*(name for each in names.values() for name in each))
    verbs = {name[0] for each in names.values() for name in each if name}
    spelt = [_spelt(word, real) for word in typed]
    ways = [spelt]
    if verb_first and len(spelt) > 1 and not verbs.isdisjoint(spelt[0]):
        ways.append(spelt[1:])
    for way in ways:
        found = {
            said: close
            for said, own in names.items()
            if way and (close := [name for name in own if _all_in(way, name)])
        }
        if 0 < len(found) <= _MOST:
            nearest = max(found, key=lambda said: max(_nearness(typed, n) for n in found[said]))
            return f"Did you mean '{nearest}'?"
        if found and way is spelt and (right := _corrected(typed, way, found.values())):
            return f"Did you mean '{right}'?"
    return ""


def _corrected(
    typed: list[str], way: list[list[str]], found: Iterable[list[list[str]]]
) -> str:  # fmt: skip
    """The words as they are spelt in what was found; empty where none was misspelt."""
    there = {word for names in found for name in names for word in name}
    right = [next((w for w in each if any(_same(w, t) for t in there)), each[0]) for each in way]
    return " ".join(right) if right != typed else ""


def _nearness(typed: list[str], name: list[str]) -> float:
    from difflib import SequenceMatcher  # most names are spelt right

    return SequenceMatcher(None, " ".join(typed), " ".join(name)).ratio()


def words_of(entries: Iterable[Named]) -> set[str]:
    """Every word in the names of entries: none of them is a misspelling."""
    return {word for each in entries for name in names_of(each) for word in _words_in(name)}


def _words_in(name: str) -> list[str]:
    return re.sub(r"[^\w'/]+", " ", name).split()


def _all_in(way: list[list[str]], name: list[str]) -> bool:
    """Whether a name has each word, in one of the ways in which it may be spelt."""
    return all(any(_same(word, each) for word in ways for each in name) for ways in way)


def _same(word: str, other: str) -> bool:
    begins = len(word) > SHORT and other.startswith(word)
    return begins or word.rstrip("s") == other.rstrip("s")


def _spelt(word: str, real: Collection[str]) -> list[str]:
    """A word as it may be spelt: itself where there is such a word, else those like it, the most
    alike first."""
    if any(_same(word, each) for each in real):
        return [word]
    like = [each for each in real if len(each) > SHORT and alike(word, each)]
    return sorted(like, key=lambda each: (-_nearness([word], [each]), each)) or [word]
