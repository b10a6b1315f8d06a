"""One thing that nobody has tried or that nothing uses."""

from __future__ import annotations

from dataclasses import dataclass

from expert.errors import Place


@dataclass(frozen=True)
class Gap:
    """`id` is the name under which it can be explained in a rulebase; `kind` what it is about."""

    id: str
    kind: str
    what: str
    place: Place

    @property
    def about(self) -> str:
        """What it is about: the id without its last part."""
        return self.id.rpartition(" / ")[0]

    @property
    def lacks(self) -> str:
        """What is lacking, in two or three words: the last part of the id."""
        return self.id.rpartition(" / ")[2]

    def __str__(self) -> str:
        return f"{self.place}: {self.id}: {self.what}"
