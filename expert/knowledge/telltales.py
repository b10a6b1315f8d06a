"""Words that give away what a text is about: a hazard, a stop, a protection, or the never-done."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from expert.knowledge.hazard_model import Telltale
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass

_ENDS = ".;:"


@dataclass(frozen=True)
class Word:
    """What was found in a text, and by which telltale."""

    text: str
    telltale: Telltale


def found(text: str, means: str, rulebase: Rulebase) -> Iterator[Word]:
    """The words of a text that tell of something; of hazards where `means` is empty."""
    if not text:
        return
    for telltale in rulebase.telltales.values():
        if telltale.means != means:
            continue
        for pattern in telltale.words:
            for match in _compiled(pattern).finditer(text):
                clause = _clause(text, match.start(), match.end())
                if not any(_compiled(each).search(clause) for each in telltale.unless):
                    yield Word(match.group().strip(), telltale)


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern, re.IGNORECASE)


def _clause(text: str, start: int, end: int) -> str:
    """The part of a sentence in which a match stands, so that 'never' before it is seen."""
    first = max((text.rfind(each, 0, start) for each in _ENDS), default=-1) + 1
    ends = [at for each in _ENDS if (at := text.find(each, end)) >= 0]
    return text[first : min(ends, default=len(text))]
