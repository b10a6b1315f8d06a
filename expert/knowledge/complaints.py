"""A complaint in plain words: which of the choices a person means by what they typed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from expert.errors import ReadingError
from expert.knowledge.influence_model import COMPLAINT
from expert.knowledge.model import Rulebase

_SMALL = frozenset(
    (
        "a", "an", "and", "are", "at", "but", "by", "do", "does", "for", "from", "has", "have",
        "i", "in", "is", "it", "its", "my", "no", "not", "of", "on", "or", "our", "that", "the",
        "there", "they", "this", "to", "up", "was", "we", "were", "with",
    )
)  # fmt: skip
_EXTRA = 0.1  # what a word of the phrase counts that was not typed (own choice)
_IN_MEANING = 0.6  # what a word counts that stands in the explanation only (own choice)


def complaint_meant(text: str, rulebase: Rulebase) -> str:
    """The choice of the quantity `complaint` that fits some words best; '' where none does.

    Raises ReadingError where two fit alike.
    """
    typed = set(_stems(text))
    quantity = rulebase.quantities.get(COMPLAINT)
    if quantity is None or not typed:
        return ""
    scores: dict[str, float] = {}
    for phrase, meaning in quantity.choices.items():
        told = [c.words for c in rulebase.complaints.values() if c.says == phrase]
        ways = [phrase, *(each for words in told for each in words)]
        best = max(_score(typed, set(_stems(way)), set(_stems(meaning))) for way in ways)
        if best > 0:
            scores[phrase] = best
    if not scores:
        return ""
    ranked = sorted(scores, key=lambda phrase: -scores[phrase])
    alike = [each for each in ranked if scores[ranked[0]] - scores[each] < _EXTRA / 2]
    if len(alike) > 1:
        raise ReadingError(f"'{text.strip()}' could be: {'; '.join(alike)}. Type which.")
    return ranked[0]


def _score(typed: set[str], said: set[str], meaning: set[str]) -> float:
    found = typed & said
    also = (typed & meaning) - found
    whole = len(found) + _IN_MEANING * len(also)
    return whole - _EXTRA * len(said - typed) if whole else 0.0


def _stems(text: str) -> Iterator[str]:
    for word in _words(text):
        yield re.sub(r"(?:ing|ed|es|s|e)$", "", word) if len(word) > 3 else word


def _words(text: str) -> Iterable[str]:
    return (word for word in re.findall(r"[a-z]+", text.lower()) if word not in _SMALL)
