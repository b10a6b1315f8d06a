"""How a derived quantity is computed: from which readings, and on which kinds of plant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from expert.made_when_used import dataclass


@dataclass(frozen=True)
class Input:
    """One input of a derived value: a quantity, and which of its readings to take.

    `nearer` is a reading of the same at a better place, which is taken where it is known.
    """

    quantity: str
    take: str = "last"
    nearer: str = ""

    @property
    def places(self) -> tuple[str, ...]:
        """The quantities it may be taken from, the better one first."""
        return (self.nearer, self.quantity) if self.nearer else (self.quantity,)


@dataclass(frozen=True)
class Derivation:
    """How a derived quantity is computed: a formula of the physics catalogue and its inputs.

    `kinds` are the kinds of plant on which it means anything: quantities with their choices, of
    which one must be known to be so.
    """

    function: str
    inputs: Mapping[str, Input]
    kinds: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def rests_on(self) -> tuple[str, ...]:
        """Every quantity that it may look at: its inputs, read anywhere, and the kinds of plant."""
        return (*(place for each in self.inputs.values() for place in each.places), *self.kinds)
