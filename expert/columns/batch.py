"""Some thousand jobs as arrays: their views, and the values of each quantity over the views."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from expert.columns.frame import Frame

AnyNumbers = NDArray[Any]
Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
NOTHING = -1


@dataclass(frozen=True)
class FileNames:
    """The names that numbers of a file stand for, the texts of its sites, its frames."""

    of: Mapping[str, Sequence[str]]
    site_texts: Mapping[str, str]
    frames: Mapping[str, Frame]

    @cached_property
    def word_numbers(self) -> Mapping[str, int]:
        """The number of each word."""
        return {word: number for number, word in enumerate(self.of["word"])}


@dataclass(frozen=True)
class Numbers:
    """A quantity as a number [SI], view by view; `place` is where the first stands among all."""

    view: AnyNumbers
    value: Floats
    plus_minus: Floats
    origin: AnyNumbers
    place: int = 0


@dataclass(frozen=True)
class Words:
    """A quantity as a word, view by view; `place` likewise, behind all numbers."""

    view: AnyNumbers
    word: AnyNumbers
    origin: AnyNumbers
    place: int = 0


_NONE = np.zeros(0, dtype=np.int64)
NO_NUMBERS = Numbers(_NONE, np.zeros(0), np.zeros(0), _NONE)
NO_WORDS = Words(_NONE, _NONE, _NONE)


@dataclass(frozen=True)
class Batch:
    """Jobs and their views. A group is a job in a stage: twice its number, and 1 as left.

    `jobs` are their ids, each with the hash of its last entry.
    `before` is the view as found of the same subject, NOTHING where there is none; `home` whether
    a view is of the job's own subject. `lists` are those of the file (`flat_rows.LISTS`).
    """

    names: FileNames
    jobs: Sequence[tuple[str, str]]
    lists: Mapping[str, AnyNumbers]
    group: Ints
    home: Flags
    judged: Flags
    before: Ints
    numbers: Mapping[str, Numbers]
    words: Mapping[str, Words]

    @property
    def views(self) -> int:
        """How many views there are."""
        return len(self.group)

    @property
    def job_of_view(self) -> Ints:
        """The number of the job of each view."""
        return self.group // 2


def batch_of(
    names: FileNames, jobs: Sequence[tuple[str, str]], lists: Mapping[str, AnyNumbers]
) -> Batch:
    """The arrays of a block."""
    group = lists["view_group"].astype(np.int64)
    numbers = {
        name: Numbers(
            lists["number_view"][part], lists["number"][part], lists["number_plus_minus"][part],
            lists["number_origin"][part], part.start,
        )
        for name, part in _parts(names, lists["number_counts"])
    }  # fmt: skip
    behind = len(lists["number"])
    words = {
        name: Words(
            lists["word_view"][part], lists["word"][part], lists["word_origin"][part],
            behind + part.start,
        )
        for name, part in _parts(names, lists["word_counts"])
    }  # fmt: skip
    return Batch(
        names, jobs, lists, group, lists["view_home"] == 1, lists["view_judged"] == 1,
        _before(group, lists["view_subject"].astype(np.int64)), numbers, words,
    )  # fmt: skip


def _parts(names: FileNames, counts: AnyNumbers) -> list[tuple[str, slice]]:
    """Where the values of each quantity stand of which there are some."""
    ends = np.cumsum(counts).tolist()
    found = zip(names.of["quantity"], [0, *ends], ends, strict=False)
    return [(name, slice(start, end)) for name, start, end in found if end > start]


def _before(group: Ints, subject: Ints) -> Ints:
    """For each view as left that as found of the same subject and job."""
    width = int(subject.max(initial=0)) + 1
    keys = group * width + subject
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    wanted = keys - width  # the group before
    at = np.searchsorted(ordered, wanted)
    at[at == len(ordered)] = 0
    if not len(ordered):
        return _NONE
    found = (ordered[at] == wanted) & (group % 2 == 1)
    return np.where(found, order[at], NOTHING)
