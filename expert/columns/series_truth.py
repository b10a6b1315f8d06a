"""What series of readings say about a course, view by view, by the engine's own code."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import NO_NUMBERS, NO_WORDS, Batch
from expert.columns.flat_rows import NO_WORD
from expert.columns.flat_value import DERIVED, GIVEN, SERIES
from expert.inference.course import course_truth
from expert.inference.evaluation_model import Known, Reading
from expert.knowledge.conditions import Course
from expert.knowledge.model import Quantity
from expert.units.measure import Measure


def course_truths(
    course: Course, batch: Batch, quantities: Mapping[str, Quantity]
) -> NDArray[np.int8]:
    """1 true, -1 false, 0 unknown; only where something was read of the quantity."""
    names = [course.quantity, *([course.before.quantity] if course.before else [])]
    known: dict[int, dict[str, Known]] = defaultdict(dict)
    for name in dict.fromkeys(names):
        for view, each in _known(batch, quantities[name]):
            known[view][name] = each
    found = np.zeros(batch.views, dtype=np.int8)
    for view, facts in known.items():
        truth = course_truth(course, facts)
        found[view] = 0 if truth is None else 1 if truth else -1
    return found


def _known(batch: Batch, quantity: Quantity) -> Iterator[tuple[int, Known]]:
    """The view and what is known of a quantity there, where it was read."""
    words = batch.names.of["word"]
    said = batch.words.get(quantity.id, NO_WORDS)
    for row, (view, word) in enumerate(zip(said.view, said.word, strict=True)):
        yield from _read(batch, quantity, view, words[word], said.origin[row], said.place + row)
    numbers = batch.numbers.get(quantity.id, NO_NUMBERS)
    for row, (view, value, spread) in enumerate(
        zip(numbers.view, numbers.value, numbers.plus_minus, strict=True)
    ):
        measure = Measure(quantity.kind, float(value), float(spread))
        yield from _read(batch, quantity, view, measure, numbers.origin[row], numbers.place + row)


def _read(
    batch: Batch, quantity: Quantity, view: int, value: Measure | str, origin: int, place: int
) -> Iterator[tuple[int, Known]]:
    if origin in (GIVEN, DERIVED):
        return
    series = _samples(batch, quantity, place) if origin == SERIES else [Reading(quantity.id, value)]
    yield int(view), Known(quantity, value, tuple(series))


def _samples(batch: Batch, quantity: Quantity, place: int) -> Iterator[Reading]:
    lists, words = batch.lists, batch.names.of["word"]
    for at in np.flatnonzero(lists["sample_of"] == place):
        value: Measure | str = Measure(
            quantity.kind, float(lists["sample_number"][at]), float(lists["sample_plus_minus"][at])
        )
        if lists["sample_word"][at] != NO_WORD:
            value = words[lists["sample_word"][at]]
        seconds = float(lists["sample_seconds"][at])
        yield Reading(quantity.id, value, seconds=None if np.isnan(seconds) else seconds)
