"""The form of a condition after parsing. A condition is true, false or unknown (None)."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

from expert.errors import Place
from expert.made_when_used import dataclass
from expert.units.kinds import Kind

NOWHERE = Place("")
KNOWN = "known"  # the word of `quantity is known`


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
    kind: Kind | None = None

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

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """All terms brought to the left, to be compared with zero."""
        return self.left + tuple(replace(term, factor=-term.factor) for term in self.right)

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


@dataclass(frozen=True)
class Course:
    """What a quantity does over time: rises, falls, reaches, becomes, holds.

    `amount` is the measure as typed and `value` its SI value (a difference for rises, falls and
    holds); `word` is the choice of becomes; `seconds` the time after within, before or for;
    `before` another course that must come later.
    """

    quantity: str
    verb: str
    text: str
    amount: str = ""
    value: float | None = None
    word: str = ""
    time: str = ""
    seconds: float | None = None
    before: Course | None = None
    place: Place = NOWHERE

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True)
class InStage:
    """Conditions that must hold in a stage: 'as found' or 'as left'."""

    stage: str
    members: tuple[Condition, ...]
    place: Place = NOWHERE

    def __str__(self) -> str:
        return f"{self.stage}: ({'; '.join(str(member) for member in self.members)})"


@dataclass(frozen=True)
class Over:
    """Conditions counted over the circuits (or compressors, cases) of the rack.

    `count` is every, most, no, or at least; `at_least` the number of the last.
    """

    count: str
    kind: str
    members: tuple[Condition, ...]
    at_least: int = 0
    place: Place = NOWHERE

    def __str__(self) -> str:
        inner = "; ".join(str(member) for member in self.members)
        return f"{self.heading}: ({inner})"

    @property
    def heading(self) -> str:
        """'most circuits', 'at least 2 circuits'."""
        if self.count in ("most", "at least"):
            number = f" {self.at_least}" if self.count == "at least" else ""
            return f"{self.count}{number} {self.kind}s"
        return f"{self.count} {self.kind}"


Elementary = Is | HasSign | Compare | Course | InStage | Over
Condition = Elementary | Group


def parts(condition: Condition) -> tuple[Elementary, ...]:
    """Every elementary condition inside a condition, as it stands for one subject and stage."""
    if isinstance(condition, Group):
        return tuple(part for member in condition.members for part in parts(member))
    return (condition,)


def everywhere(condition: Condition) -> tuple[Elementary, ...]:
    """Every elementary condition, also those about other stages and other subjects."""
    found: list[Elementary] = []
    for part in parts(condition):
        found.append(part)
        if isinstance(part, InStage | Over):
            found += [inner for member in part.members for inner in everywhere(member)]
    return tuple(found)


def _looks_at(part: Elementary) -> tuple[str, ...]:
    if isinstance(part, Is):
        return (part.quantity,)
    if isinstance(part, Course):
        return (part.quantity, *(_looks_at(part.before) if part.before else ()))
    if isinstance(part, Compare):
        return tuple(term.quantity for term in part.terms if term.quantity)
    return ()


def quantities_in(condition: Condition) -> tuple[str, ...]:
    """Ids of the quantities a condition looks at on its own subject, in order, once each."""
    return tuple(dict.fromkeys(name for part in parts(condition) for name in _looks_at(part)))


def quantities_anywhere(condition: Condition) -> tuple[str, ...]:
    """Ids of the quantities a condition looks at on any subject and in any stage."""
    return tuple(dict.fromkeys(name for part in everywhere(condition) for name in _looks_at(part)))


def signs_in(condition: Condition) -> tuple[str, ...]:
    """Ids of the signs a condition looks at."""
    return tuple(part.sign for part in parts(condition) if isinstance(part, HasSign))
