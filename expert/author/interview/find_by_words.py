"""Finds entries of a rulebase by words that a technician would use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from expert.errors import nearest
from expert.knowledge.model import Cause, Quantity, Rulebase, Sign
from expert.knowledge.synonyms import SHORT, alike, plain_name

T = TypeVar("T")


def search(words: str, texts: Mapping[str, str]) -> list[str]:
    """Keys whose text holds all the words; else those that hold most.

    First what is called exactly so (a text has a name in each line), then whole words.
    """
    wanted, name = _wanted(words), plain_name(words)
    if not wanted:
        return []
    ranked: list[tuple[bool, int, int, str]] = []
    for place, (key, text) in enumerate(texts.items()):
        lower = text.lower()
        parts = lower.split()
        hits = sum(word in (parts if len(word) <= SHORT else lower) for word in wanted)
        whole = sum(word in parts for word in wanted)
        if hits:
            other = name not in map(plain_name, text.splitlines())
            ranked.append((other, -hits * 10 - whole, place, key))
    ranked.sort()
    best = [key for _, score, _, key in ranked if -score >= len(wanted) * 10]
    most = (len(wanted) // 2 + 1) * 10
    return best or [key for _, score, _, key in ranked if -score >= most]


def guess(words: str, texts: Mapping[str, str]) -> str:
    """The words with each that nothing holds replaced by the nearest there is; else nothing."""
    known = sorted({word for text in texts.values() for word in text.lower().split()})
    wanted = _wanted(words)
    meant = [word if any(word in each for each in known) else _near(word, known) for word in wanted]
    return " ".join(meant) if meant != wanted else ""


def quantity_texts(quantities: Iterable[Quantity]) -> dict[str, str]:
    """What a quantity can be found by: its id, title, synonyms and choices."""
    return {
        each.id: "\n".join((each.id.replace("_", " "), each.title, *each.also, *each.choices))
        for each in quantities
    }


def sign_texts(signs: Iterable[Sign]) -> dict[str, str]:
    """What a sign can be found by."""
    return {each.id: f"{each.id.replace('_', ' ')}\n{each.says}" for each in signs}


def cause_texts(causes: Iterable[Cause]) -> dict[str, str]:
    """What a cause can be found by."""
    return {
        each.id: "\n".join((each.id.replace("-", " "), each.title, *each.also, each.system))
        for each in causes
    }


def names_with(words: str, rulebase: Rulebase) -> list[tuple[str, str, str]]:
    """Kind, id and title of the quantities, signs and causes that some words mean."""
    found: list[tuple[str, str, str]] = []
    quantities, signs, causes = rulebase.quantities, rulebase.signs, rulebase.causes
    for name in search(words, quantity_texts(quantities.values())):
        found.append(("quantity", name, quantities[name].title))
    for name in search(words, sign_texts(signs.values())):
        found.append(("sign", name, signs[name].says))
    for name in search(words, cause_texts(causes.values())):
        found.append(("cause", name, causes[name].title))
    return found


def _wanted(words: str) -> list[str]:
    return [] if words.strip().isdecimal() else words.lower().replace("_", " ").split()


def _near(word: str, known: list[str]) -> str:
    found = nearest(word, known).partition("'")[2].partition("'")[0]
    return found if found and alike(word, found) else word
