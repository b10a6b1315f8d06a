"""An attempt looked back on: what showed it, when it could be known, the shortest way, the cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp

from expert.errors import ReadingError
from expert.inference.evaluation_model import Evaluation, Reading
from expert.inference.subject_file import accept
from expert.knowledge.model import Quantity
from expert.plant.reading_difference import differs
from expert.practice.attempt import Attempt
from expert.procedure.entries import Entry
from expert.procedure.search import MOST, leading
from expert.units.measure import format_value

SLOWLY = 240.0  # minutes in which product follows its air by about two thirds (from memory)


@dataclass(frozen=True)
class PointJudged:
    """What the tool held to lead once a reading was known: `right` where it is what is wrong."""

    entry: Entry
    cause: str
    title: str
    words: str
    right: bool


@dataclass(frozen=True)
class WayFound:
    """Readings that lead from the call to the cause, in their order, with their minutes."""

    readings: tuple[Quantity, ...]
    minutes: float
    found: bool


def points(attempt: Attempt) -> tuple[PointJudged, ...]:
    """The tool's judgement after each reading that was taken before anything was changed."""
    told: list[PointJudged] = []
    known: dict[str, list[Reading]] = {}
    for entry in attempt.entries:
        reading = attempt.read_at.get(entry.seq)
        if reading is None or reading.stage != "as found":
            continue
        if reading.seconds is None:
            known.pop(reading.quantity, None)
        known.setdefault(reading.quantity, []).append(reading)
        told.append(_point(attempt, entry, _judged(attempt, known)))
    return tuple(told)


def _judged(attempt: Attempt, known: Mapping[str, Sequence[Reading]]) -> Evaluation:
    call = Reading("complaint", attempt.plant.says or "nothing")
    return attempt.evaluator.evaluate((call, *(r for each in known.values() for r in each)))


def _point(attempt: Attempt, entry: Entry, found: Evaluation) -> PointJudged:
    first = next(iter(found.findings), None)
    if first is None:
        return PointJudged(entry, "", "", "", right=False)
    cause = first.cause
    return PointJudged(entry, cause.id, cause.title, first.words, cause.id in attempt.right)


def showed(attempt: Attempt) -> tuple[tuple[Quantity, str], ...]:
    """The readings taken that a plant in order would not have shown, with what was read."""
    usual = attempt.plant.usual()
    found: dict[str, str] = {}
    for entry in attempt.entries:
        reading = attempt.read_at.get(entry.seq)
        if reading is None or reading.stage != "as found":
            continue
        name = reading.quantity
        at_call = attempt.told_at_call.get(name)
        if at_call is not None and differs(name, at_call, usual.get(name)):
            found[name] = reading.text
    return tuple((attempt.rulebase.quantities[name], text) for name, text in found.items())


def enough_of(attempt: Attempt) -> tuple[Quantity, ...]:
    """The fewest of the readings taken, by leaving out one after the other, from which a right
    cause still comes first; none where it never did."""
    known: dict[str, list[Reading]] = {}
    for reading in attempt.found:
        known.setdefault(reading.quantity, []).append(reading)

    def right(some: Mapping[str, Sequence[Reading]]) -> bool:
        first = next(iter(_judged(attempt, some).findings), None)
        return first is not None and first.cause.id in attempt.right

    if not right(known):
        return ()
    for name in reversed([*known]):
        less = {key: each for key, each in known.items() if key != name}
        if right(less):
            known = less
    return tuple(attempt.rulebase.quantities[name] for name in known)


def shortest_way(attempt: Attempt, readings: Mapping[str, Sequence[Reading]]) -> WayFound:
    """How the tool goes from the call alone, asking what tells the most for its effort.

    `readings` are what the plant answers; what it cannot be asked for is skipped.
    """
    known: dict[str, Sequence[Reading]] = {}
    asked: dict[str, None] = {}
    took: list[Quantity] = []
    minutes, spot = 0.0, "store"
    while len(asked) < MOST:
        found = _judged(attempt, known)
        clear = leading(found, attempt.rulebase)
        if clear is not None:
            return WayFound(tuple(took), minutes, clear.cause.id in attempt.right)
        wanted = next(iter(found.next_readings(asked)), None)
        if wanted is None:
            break
        quantity = wanted.quantity
        asked[quantity.id] = None
        there = attempt.spot_of(quantity)
        minutes += quantity.effort + (attempt.setting.walking.get(there, 0) if there != spot else 0)
        spot = there
        if quantity.id in readings:
            known[quantity.id] = readings[quantity.id]
            took.append(quantity)
    first = next(iter(_judged(attempt, known).findings), None)
    return WayFound(tuple(took), minutes, first is not None and first.cause.id in attempt.right)


def readings_of_plant(attempt: Attempt) -> dict[str, tuple[Reading, ...]]:
    """All that the plant answered at the call, as it would be typed."""
    found: dict[str, tuple[Reading, ...]] = {}
    for name, value in attempt.told_at_call.items():
        quantity = attempt.rulebase.quantities.get(name)
        if quantity is None or quantity.derivation is not None:
            continue
        several = value if isinstance(value, tuple) else ((None, value),)
        made = []
        for seconds, each in several:
            shown = each if isinstance(each, str) else format_value(quantity.kind, each)
            try:
                made.append(replace(accept(quantity, shown, attempt.air), seconds=seconds))
            except ReadingError:
                continue
        if made:
            found[name] = tuple(made)
    return found


def product_over(attempt: Attempt) -> tuple[float, float] | None:
    """By how many kelvin the warmest product stood over its usual, at the call and at the end.

    It follows the air slowly, so a cure shows in it later. None where the plant does not tell it.
    """
    name = "warmest_product_before"
    usual, call = attempt.plant.usual().get(name), attempt.told_at_call.get(name)
    now = attempt.plant.told().get(name)
    if not all(isinstance(each, float) for each in (usual, call, now)):
        return None
    assert isinstance(usual, float) and isinstance(call, float) and isinstance(now, float)
    changed = [e for e in attempt.entries if e.kind == "act"]
    since = attempt.minutes - _minutes_until(attempt, changed[-1]) if changed else 0.0
    left = now + (call - now) * exp(-since / SLOWLY)
    return call - usual, left - usual


def _minutes_until(attempt: Attempt, entry: Entry) -> float:
    total = 0.0
    for each in attempt.entries:
        minutes = each.data.get("minutes", 0.0)
        total += float(minutes) if isinstance(minutes, int | float) else 0.0
        if each is entry:
            break
    return total
