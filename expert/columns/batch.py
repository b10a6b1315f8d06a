"""Some thousand jobs as arrays: their views, and the values of each quantity over the views."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from expert.columns.flat_rows import NUMBER
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
class Column:
    """What is known of a quantity: in which views, as which number [SI] or word.

    `word` is NUMBER where a number is known; `place` is where it stands among all values.
    """

    view: Ints
    value: Floats
    plus_minus: Floats
    word: Ints
    place: Ints

    @cached_property
    def numbers(self) -> Column:
        """Only where a number is known."""
        return self.where(self.word == NUMBER)

    @cached_property
    def words(self) -> Column:
        """Only where a word is known."""
        return self.where(self.word != NUMBER)

    def where(self, flags: Flags) -> Column:
        """Only where something holds."""
        return self if flags.all() else self.part(flags)

    def part(self, which: Flags | slice) -> Column:
        """Some of it."""
        return Column(
            self.view[which], self.value[which], self.plus_minus[which], self.word[which],
            self.place[which],
        )  # fmt: skip


NO_COLUMN = Column(*(np.zeros(0, kind) for kind in (int, float, float, int, int)))


@dataclass(frozen=True)
class Batch:
    """Jobs and their views. A group is the stage of a job: twice its number, and 1 as left.

    `before` is the view as found of the same subject, NOTHING where there is none; `home` whether
    a view is of the job's own subject. `columns` are by quantity. Of lists by job `Lists` says
    what is in them.
    """

    names: FileNames
    jobs: Sequence[str]
    entries: Ints
    site: Ints
    frame: Ints
    whole: Flags
    view_job: Ints
    view_group: Ints
    view_subject: Ints
    judged: Flags
    home: Flags
    before: Ints
    columns: Mapping[str, Column]
    lists: Mapping[str, AnyNumbers]
    origin: AnyNumbers
    group_of: Ints
    asked_job: Ints

    @property
    def views(self) -> int:
        """How many views there are."""
        return len(self.view_job)

    def column(self, quantity: str) -> Column:
        """What is known of a quantity."""
        return self.columns.get(quantity, NO_COLUMN)


def batch_of(
    names: FileNames,
    jobs: Sequence[str],
    entries: AnyNumbers,
    lists: Mapping[str, tuple[AnyNumbers, AnyNumbers]],
) -> Batch:
    """The arrays of some rows of a file."""
    flat = {name: values for name, (values, _) in lists.items()}
    head = flat["head"].reshape(len(jobs), 4).astype(np.int64)
    view_job = _rows(lists["view_stage"][1])
    group = 2 * view_job + flat["view_stage"]
    subject = flat["view_subject"].astype(np.int64)
    return Batch(
        names, jobs, entries.astype(np.int64), head[:, 0], head[:, 2], head[:, 3] == 1,
        view_job, group, subject, flat["view_judged"] == 1, subject == head[view_job, 1],
        _before(group, subject), _columns(names, flat), _placed(lists), flat["origin"],
        2 * _rows(lists["group_stage"][1]) + flat["group_stage"],
        _rows(lists["asked_subject"][1]),
    )  # fmt: skip


def _rows(ends: AnyNumbers) -> Ints:
    """The number of the row for each thing in lists with these ends."""
    return np.repeat(np.arange(len(ends) - 1), np.diff(ends))


def _before(group: Ints, subject: Ints) -> Ints:
    """For each view as left that as found of the same subject and job."""
    width = int(subject.max(initial=0)) + 1
    keys = group * width + subject
    order = np.argsort(keys, kind="stable")
    ordered = keys[order]
    wanted = (group - 1) * width + subject
    at = np.searchsorted(ordered, wanted)
    at[at == len(ordered)] = 0
    found = (ordered[at] == wanted) & (group % 2 == 1) if len(ordered) else np.zeros(0, bool)
    return np.where(found, order[at], NOTHING)


def _columns(names: FileNames, flat: Mapping[str, AnyNumbers]) -> dict[str, Column]:
    view = _rows(np.concatenate(([0], np.cumsum(flat["view_values"]))))
    order = np.argsort(flat["quantity"], kind="stable")
    counts = np.bincount(flat["quantity"], minlength=len(names.of["quantity"]))
    ends = np.concatenate(([0], np.cumsum(counts)))
    every = Column(
        view[order], flat["value"][order], flat["plus_minus"][order],
        flat["word"][order].astype(np.int64), order,
    )  # fmt: skip
    return {
        name: every.part(slice(start, end))
        for name, start, end in zip(names.of["quantity"], ends, ends[1:], strict=False)
        if end > start
    }


def _placed(lists: Mapping[str, tuple[AnyNumbers, AnyNumbers]]) -> dict[str, AnyNumbers]:
    """The flat lists; places of samples counted over all jobs."""
    flat = {name: values for name, (values, _) in lists.items()}
    begins = lists["quantity"][1][:-1]
    job = _rows(lists["sample_of"][1])
    flat["sample_of"] = flat["sample_of"] + begins[job]
    return flat
