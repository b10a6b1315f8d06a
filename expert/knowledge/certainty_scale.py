"""The scale of evidence, and how sure a cause is in words."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

from expert.knowledge.source import Source
from expert.made_when_used import dataclass

NOT_FOUND = "not found"  # said of a cause below the threshold
AGAINST = "{} against"  # said by tests of one against which something speaks: 'strong against'


@dataclass(frozen=True)
class Certainty:
    """The scale of evidence: named strengths (0 to 1), the words for a certainty, the threshold."""

    strengths: Mapping[str, float]
    words: tuple[tuple[float, str], ...]
    threshold: float
    source: Source

    def say(self, certainty: float) -> str:
        """The words for a certainty between 0 and 1."""
        for at_least, words in self.words:
            if certainty >= at_least:
                return words
        return self.words[-1][1]

    def say_against(self, certainty: float) -> str:
        """What speaks against a cause (0 to 1), as the strongest evidence that it comes to."""
        reached = [word for word, least in self.strengths.items() if certainty >= least]
        strongest = max(reached, key=self.strengths.__getitem__, default="")
        return AGAINST.format(strongest) if strongest else NOT_FOUND

    @cached_property
    def words_of_tests(self) -> tuple[str, ...]:
        """Every word that a test may say of a cause."""
        found = (*(word for _, word in self.words), NOT_FOUND)
        return (*found, *(AGAINST.format(word) for word in self.strengths))
