"""What series of readings say about a course, view by view, by the engine's own code."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from expert.columns.batch import Batch
from expert.columns.flat_rows import DERIVED, GIVEN, NUMBER, READ, SERIES
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


def _known(batch: Batch, quantity: Quantity) -> list[tuple[int, Known]]:
    column, lists = batch.column(quantity.id), batch.lists
    words = batch.names.of["word"]
    samples: dict[int, list[Reading]] = defaultdict(list)
    origin = batch.origin[column.place]
    for at in np.flatnonzero(np.isin(lists["sample_of"], column.place[origin == SERIES])):
        seconds = float(lists["sample_seconds"][at])
        value = _value(
            quantity, lists["sample_value"][at], lists["sample_plus_minus"][at],
            lists["sample_word"][at], words,
        )  # fmt: skip
        reading = Reading(quantity.id, value, seconds=None if np.isnan(seconds) else seconds)
        samples[int(lists["sample_of"][at])].append(reading)
    found = []
    for row, place in enumerate(column.place):
        if origin[row] in (GIVEN, DERIVED):
            continue
        value = _value(quantity, column.value[row], column.plus_minus[row], column.word[row], words)
        readings = samples[int(place)] if origin[row] != READ else [Reading(quantity.id, value)]
        found.append((int(column.view[row]), Known(quantity, value, tuple(readings))))
    return found


def _value(
    quantity: Quantity, value: float, plus_minus: float, word: int, words: Sequence[str]
) -> Measure | str:
    if word != NUMBER:
        return words[word]
    return Measure(quantity.kind, float(value), float(plus_minus))
