"""How much a plant looks like those with each cause: what is known of it, held against likenesses.

Each word that is known makes a cause more or less likely than the others by the ratio of two
shares: how many plants with the cause show the word, and how many plants show it whatever the
cause (Bayes' rule, taking the words as independent of one another). They are not, and a likeness
comes from a model or from memory; so what all of them say together counts for less than it would
(`OF_ALL`). A cause without a likeness is neither nearer nor farther.

    return air slow    of coils iced over 0.85, usually 0.1     8.5 times as likely
    superheat normal   of coils iced over 0.1,  usually 0.6     a sixth
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from math import exp, log

from expert.inference.truth import Facts
from expert.knowledge.likeness_model import LEAST, WIDER, Shares
from expert.knowledge.model import Rulebase
from expert.made_when_used import dataclass

OF_ALL = 0.8  # as a power of what all words together say (own choice)


@dataclass(frozen=True)
class Shows:
    """What a quantity shows: its words, their shares usually and where a cause is so."""

    words: tuple[str, ...]
    usually: tuple[float, ...]
    with_cause: Mapping[str, tuple[float, ...]]


class Resemblance:
    """The likenesses of a rulebase, by quantity; made once for a rulebase."""

    def __init__(self, rulebase: Rulebase) -> None:
        self._rulebase = rulebase

    @cached_property
    def shows(self) -> Mapping[str, Shows]:
        """What each quantity shows that some likeness speaks of."""
        found: dict[str, dict[str, Shares]] = {}
        for likeness in self._rulebase.likenesses.values():
            for name, shares in likeness.shows.items():
                found.setdefault(name, {})[likeness.cause] = shares
        return {name: _shows(self._rulebase.usual_words[name].shows, told)
                for name, told in found.items()}  # fmt: skip

    def word(self, name: str, facts: Facts) -> int | None:
        """Which of its words a quantity shows; None where it is none of them, or not known."""
        if name not in facts.known:
            return None
        word = facts.state(name).word
        word = WIDER.get(word, word)
        words = self.shows[name].words
        return words.index(word) if word in words else None

    def times_as_likely(self, facts: Facts) -> dict[str, float]:
        """For each cause that has a likeness how many times as likely all known words make it."""
        found = {name: 0.0 for name in self._rulebase.likenesses}
        for name, shows in self.shows.items():
            at = self.word(name, facts)
            if at is not None:
                for cause, shares in shows.with_cause.items():
                    found[cause] += log(shares[at] / shows.usually[at])
        return {cause: exp(OF_ALL * said) for cause, said in found.items()}

    def tells_most(self, cause: str, facts: Facts, most: int) -> tuple[str, ...]:
        """The known quantities that most make a cause likelier than others."""
        ratios = {}
        for name, shows in self.shows.items():
            at = self.word(name, facts) if cause in shows.with_cause else None
            if at is not None and shows.with_cause[cause][at] > shows.usually[at]:
                ratios[name] = shows.usually[at] / shows.with_cause[cause][at]
        return tuple(sorted(ratios, key=lambda name: (ratios[name], name))[:most])


def _shows(usual: Shares, told: Mapping[str, Shares]) -> Shows:
    words = tuple(dict.fromkeys((*usual, *(word for shares in told.values() for word in shares))))
    usually = _whole([usual.get(word, LEAST) for word in words])
    return Shows(words, usually, {cause: _filled(shares, words, usually)
                                  for cause, shares in told.items()})  # fmt: skip


def _filled(
    shares: Shares, words: tuple[str, ...], usually: tuple[float, ...]
) -> tuple[float, ...]:
    """The shares of all words: those that are not said have the rest, as they usually part it."""
    rest = max(1 - sum(shares.values()), 0.0)
    open_ = sum(usual for word, usual in zip(words, usually, strict=True) if word not in shares)
    return _whole(
        max(shares[word] if word in shares else rest * usual / open_, LEAST)
        for word, usual in zip(words, usually, strict=True)
    )


def _whole(shares: Iterable[float]) -> tuple[float, ...]:
    told = tuple(shares)
    total = sum(told)
    return tuple(each / total for each in told)
