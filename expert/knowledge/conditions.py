"""The form of a condition after parsing. A condition is true, false or unknown (None)."""

from __future__ import annotations

from dataclasses import dataclass

from expert.errors import Place

NOWHERE = Place("")


@dataclass(frozen=True)
class Is:
    """`quantity is [not] word`: a state (low, normal ...), a choice phrase, or 'known'."""

    quantity: str
    word: str
    negated: bool = False
    place: Place = NOWHERE

    def __str__(self) -> str:
        return f"{self.quantity} is {'not ' if self.negated else ''}{self.word}"


@dataclass(frozen=True)
class HasSign:
    """`[not] sign`: whether a chained conclusion was drawn."""

    sign: str
    negated: bool = False
    place: Place = NOWHERE

    def __str__(self) -> str:
        return f"{'not ' if self.negated else ''}{self.sign}"


@dataclass(frozen=True)
class Term:
    """One term of a sum: plus or minus a quantity, or a measure as typed (`value` in SI)."""

    factor: int
    quantity: str = ""
    measure: str = ""
    value: float = 0.0

    def __str__(self) -> str:
        return self.quantity or self.measure


@dataclass(frozen=True)
class Compare:
    """`a + b > c - 3 psi`: two sums and one of > >= < <=."""

    left: tuple[Term, ...]
    right: tuple[Term, ...]
    operator: str
    text: str
    place: Place = NOWHERE

    @property
    def terms(self) -> tuple[Term, ...]:
        """All terms brought to the left, to be compared with zero."""
        return self.left + tuple(
            Term(-term.factor, term.quantity, term.measure, term.value) for term in self.right
        )

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class Group:
    """any, all, or at least n of some conditions."""

    at_least: int
    members: tuple[Condition, ...]
    place: Place = NOWHERE

    def __str__(self) -> str:
        inner = "; ".join(str(member) for member in self.members)
        if self.at_least == 1:
            return f"any of ({inner})"
        if self.at_least == len(self.members):
            return f"all of ({inner})"
        return f"at least {self.at_least} of ({inner})"


Condition = Is | HasSign | Compare | Group


def parts(condition: Condition) -> tuple[Is | HasSign | Compare, ...]:
    """Every elementary condition inside a condition."""
    if isinstance(condition, Group):
        return tuple(part for member in condition.members for part in parts(member))
    return (condition,)


def quantities_in(condition: Condition) -> tuple[str, ...]:
    """Ids of the quantities a condition looks at, in order, once each."""
    found: dict[str, None] = {}
    for part in parts(condition):
        if isinstance(part, Is):
            found[part.quantity] = None
        elif isinstance(part, Compare):
            found.update({term.quantity: None for term in part.terms if term.quantity})
    return tuple(found)


def signs_in(condition: Condition) -> tuple[str, ...]:
    """Ids of the signs a condition looks at."""
    return tuple(part.sign for part in parts(condition) if isinstance(part, HasSign))
