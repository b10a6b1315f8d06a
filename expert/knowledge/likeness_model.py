"""The frozen models of how often a cause shows what: how a plant looks that has it."""

from __future__ import annotations

from collections.abc import Mapping

from expert.errors import Place
from expert.knowledge.conditions import NOWHERE
from expert.knowledge.source import Source
from expert.made_when_used import dataclass

NUMBER_WORDS = ("low", "normal", "high")  # of a number; very low and very high count with them
WIDER = {"very low": "low", "very high": "high"}
LEAST = 0.01  # nothing is never seen (own choice)

Shares = Mapping[str, float]  # by word how many of all plants show it, from 0 to 1


@dataclass(frozen=True)
class Likeness:
    """How often plants with a cause show what: by quantity the share of each word."""

    cause: str
    shows: Mapping[str, Shares]
    source: Source
    place: Place = NOWHERE

    @property
    def id(self) -> str:
        """That of the cause: there is one for each."""
        return self.cause


@dataclass(frozen=True)
class UsualWords:
    """How often a plant that was called for shows what, whatever the cause."""

    quantity: str
    shows: Shares
    source: Source
    place: Place = NOWHERE

    @property
    def id(self) -> str:
        """That of the quantity."""
        return self.quantity
