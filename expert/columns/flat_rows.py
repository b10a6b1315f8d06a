"""The known values of some thousand jobs as a block of flat lists, with names as numbers.

Values stand quantity by quantity, numbers apart from words, so that a block is judged as it is
read. All numbers are SI.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

from expert.columns.flat_value import SERIES, FlatValue
from expert.columns.known_values import JobValues
from expert.procedure.world import AS_LEFT

FORM = 3
BLOCK = 4096  # jobs
# What a block holds and of which type: of jobs, of views (`view`: its job), of numbers and words
# (their view; `counts` how many there are of each quantity), of series (`of`: the place of the
# value among numbers and then words), of members of a kind in a stage (`kind_beside`: how many of
# `beside` are quantities that may be known of those without a view), of what limits were asked, of
# what the job was told and what became of it.
# A group is a job in a stage: twice the number of the job, and one more as left.
LISTS: Mapping[str, str] = {
    "job": "string", "chain": "string", "site": "int32", "frame": "int32", "whole": "int8",
    "holds_told": "int8",
    "view_group": "int32", "view_subject": "int32", "view_home": "int8", "view_judged": "int8",
    "number_counts": "int32", "number_view": "int32", "number": "float64",
    "number_plus_minus": "float64", "number_origin": "int8",
    "word_counts": "int32", "word_view": "int32", "word": "int16", "word_origin": "int8",
    "sample_of": "int32", "sample_seconds": "float64", "sample_number": "float64",
    "sample_plus_minus": "float64", "sample_word": "int16",
    "kind_group": "int32", "kind": "int16", "kind_count": "int16", "kind_beside": "int32",
    "beside": "int16",
    "asked_job": "int32", "asked_subject": "int32", "asked_quantity": "int16",
    "asked_value": "float64", "asked_plus_minus": "float64", "asked_answer": "int16",
    "told_job": "int32", "told_subject": "int32", "told_cause": "int16", "told_words": "int16",
    "became_job": "int32", "became_subject": "int32", "became_told": "int16",
    "became_actual": "int16", "became_answer": "int16",
}  # fmt: skip
NO_WORD = -1
NAMES = ("site", "subject", "frame", "quantity", "word", "kind", "cause", "certainty", "answer")

Block = dict[str, list[Any]]


@dataclass
class NameLists:
    """The names of a file, of each sort in the order in which they were met."""

    made: dict[str, dict[str, int]] = field(default_factory=lambda: {what: {} for what in NAMES})

    def of(self, what: str, name: str) -> int:
        """The number of a name of a sort."""
        names = self.made[what]
        return names.setdefault(name, len(names))

    def lists(self) -> dict[str, list[str]]:
        """All names by their sort."""
        return {what: list(each) for what, each in self.made.items()}


def block_of(jobs: Iterable[JobValues], names: NameLists) -> Block:
    """The lists of some jobs; names that are new are added to `names`."""
    block: Block = {name: [] for name in LISTS}
    numbers: list[tuple[int, int, FlatValue]] = []
    words: list[tuple[int, int, FlatValue]] = []
    for number, job in enumerate(jobs):
        _job(number, job, block, names)
        for view in job.views:
            place = len(block["view_group"])
            block["view_group"].append(2 * number + (view.stage == AS_LEFT))
            block["view_subject"].append(names.of("subject", view.subject))
            block["view_home"].append(int(view.subject == job.head.subject))
            block["view_judged"].append(int(view.judged))
            for name, known in view.known.items():
                kept = numbers if known.is_number else words
                kept.append((names.of("quantity", name), place, known))
    quantities = len(names.made["quantity"])
    for what, kept in (("number", numbers), ("word", words)):
        kept.sort(key=itemgetter(0))
        counts = [0] * quantities
        for quantity, place, known in kept:
            counts[quantity] += 1
            block[f"{what}_view"].append(place)
            _value(known, block, what, names)
            block[f"{what}_origin"].append(known.origin)
            if known.origin == SERIES:
                before = 0 if what == "number" else len(numbers)
                _samples(known, before + len(block[what]) - 1, block, names)
        block[f"{what}_counts"] = counts
    return block


def _job(number: int, job: JobValues, block: Block, names: NameLists) -> None:
    head = job.head
    block["job"].append(head.job)
    block["chain"].append(head.chain)
    block["site"].append(names.of("site", head.site))
    block["frame"].append(names.of("frame", job.frame))
    block["whole"].append(int(job.whole))
    block["holds_told"].append(int(job.told is not None))
    for group in job.gathered:
        block["kind_group"].append(2 * number + (group.stage == AS_LEFT))
        block["kind"].append(names.of("kind", group.kind))
        block["kind_count"].append(group.count)
        block["kind_beside"].append(len(group.beside))
        block["beside"] += (names.of("quantity", name) for name in sorted(group.beside))
    for asked in job.asked:
        block["asked_job"].append(number)
        block["asked_subject"].append(names.of("subject", asked.subject))
        block["asked_quantity"].append(names.of("quantity", asked.quantity))
        block["asked_value"].append(asked.value)
        block["asked_plus_minus"].append(asked.plus_minus)
        block["asked_answer"].append(asked.answer)
    for told in job.told or ():
        block["told_job"].append(number)
        block["told_subject"].append(names.of("subject", told.subject))
        block["told_cause"].append(names.of("cause", told.cause))
        block["told_words"].append(names.of("certainty", told.words))
    for became in job.became:
        block["became_job"].append(number)
        block["became_subject"].append(names.of("subject", became.subject))
        block["became_told"].append(names.of("cause", became.told))
        block["became_actual"].append(names.of("cause", became.actual))
        block["became_answer"].append(names.of("answer", became.answer))


def _value(known: FlatValue, block: Block, what: str, names: NameLists) -> None:
    if isinstance(known.value, str):
        block[what].append(names.of("word", known.value))
    else:
        block[what].append(known.value)
        block[f"{what}_plus_minus"].append(known.plus_minus)


def _samples(known: FlatValue, place: int, block: Block, names: NameLists) -> None:
    for each in known.samples:
        word = isinstance(each.value, str)
        block["sample_of"].append(place)
        block["sample_seconds"].append(float("nan") if each.seconds is None else each.seconds)
        block["sample_number"].append(0.0 if word else each.value)
        block["sample_plus_minus"].append(each.plus_minus)
        block["sample_word"].append(names.of("word", str(each.value)) if word else NO_WORD)
