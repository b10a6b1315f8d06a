"""How a reading is taken, and by how much it may be off then: '215 by display'.

A quantity says with what it is usually taken and how true that is. Somebody who takes it another
way says so behind the value; the accuracy is then that of the way.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import field

from expert.errors import Place, ReadingError, nearest
from expert.knowledge.source import Source
from expert.made_when_used import dataclass
from expert.units.kinds import Kind
from expert.units.measure import Measure

_BY = re.compile(r"^(?P<value>.*\S)\s+by\s+(?P<way>[^\d\s].*)$", re.IGNORECASE)
_BETWEEN = re.compile(r"\s+(?=(?:at\s+\d|\d\S*\s*[a-z]*\s+ago$))", re.IGNORECASE)


@dataclass(frozen=True)
class Spread:
    """Plus or minus: at least so much [SI], or a share of the value where that is more."""

    least: float
    share: float = 0.0

    def of(self, value: float) -> float:
        """Plus/minus of a value, both SI."""
        return max(self.least, self.share * abs(value))


@dataclass(frozen=True)
class WayOfReading:
    """A way in which readings are taken, with its accuracy for each kind that is read so.

    `in_place_of` are the ways for which somebody uses this one who has no other.
    """

    id: str
    title: str
    source: Source
    also: tuple[str, ...] = ()
    accuracy: Mapping[Kind, Spread] = field(default_factory=dict)
    in_place_of: tuple[str, ...] = ()
    place: Place = Place("")

    @property
    def names(self) -> tuple[str, ...]:
        """Every name by which it is typed."""
        return (self.id.replace("-", " "), self.title, *self.also)


@dataclass(frozen=True)
class HowTaken:
    """A way in which a certain quantity can be taken. Without a spread it is the usual way, whose
    accuracy the quantity has itself."""

    way: WayOfReading
    spread: Spread | None


def split_way(text: str) -> tuple[str, str]:
    """'215 psig by display at 11:42' to '215 psig at 11:42' and 'display'; '' where none is."""
    match = _BY.match(text)
    if match is None:
        return text, ""
    way, *time = _BETWEEN.split(match["way"], maxsplit=1)
    return " ".join([match["value"], *time]), way.strip()


def usual_way(instrument: str, ways: Iterable[WayOfReading]) -> WayOfReading | None:
    """The way that the words of an instrument name, the first of several; None for no way."""
    words = f" {' '.join(instrument.lower().replace(',', ' ').split())} "
    found = [
        (words.find(f" {name.lower()} "), -len(name), way.id, way)
        for way in ways
        for name in way.names
        if f" {name.lower()} " in words
    ]
    return min(found)[-1] if found else None


def taken_how(named: str, title: str, ways: Collection[HowTaken]) -> HowTaken:
    """The way that was typed behind a value. Raises ReadingError naming those that there are."""
    typed = " ".join(named.lower().replace("-", " ").split())
    names = {name.lower(): each for each in ways for name in each.way.names}
    if typed in names:
        return names[typed]
    begun = {each.way.id: each for name, each in names.items() if name.startswith(typed)}
    if len(begun) == 1:
        return next(iter(begun.values()))
    listed = ", ".join(dict.fromkeys(each.way.title for each in ways))
    if not listed:
        raise ReadingError(f"No ways are known of taking the {title}; type the value alone.")
    hint = nearest(typed, names)
    raise ReadingError(
        f"'by {named}' is no way of taking the {title}. {f'{hint} ' if hint else ''}Ways: {listed}."
    )


def instead(
    usual: WayOfReading | None, ways: Collection[HowTaken], own: Collection[str]
) -> HowTaken | None:
    """What somebody with these instruments uses in place of the usual one; None for that one."""
    if usual is None or usual.id in own:
        return None
    return next(
        (each for each in ways if each.way.id in own and usual.id in each.way.in_place_of), None
    )


def as_taken(measure: Measure, how: HowTaken | None, usual: float | None) -> Measure:
    """A measure with the accuracy of its way; `usual` is that of the quantity."""
    spread = how.spread if how is not None else None
    return Measure(measure.kind, measure.value, spread.of(measure.value) if spread else usual)
