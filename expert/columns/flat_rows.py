"""The known values of some thousand jobs as a block of flat lists, with names as numbers.

Values stand quantity by quantity, numbers apart from words, so that a block is judged as it is
read. All numbers are SI.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from operator import itemgetter
from typing import Any

from expert.columns.known_values import JobValues
from expert.inference.evaluation_model import Known
from expert.procedure.world import AS_LEFT
from expert.units.measure import Measure

FORM = 2
BLOCK = 4096  # jobs
# What a block holds and of which type: of jobs, of views (`view`: its job), of numbers and words
# (their view; `counts` how many there are of each quantity), of series (`of`: the place of the
# value among numbers and then words), of members of a kind in a stage (`kind_beside`: how many of
# `beside` are quantities that may be known of those without a view), of what limits were asked.
# A group is a job in a stage: twice the number of the job, and one more as left.
LISTS: Mapping[str, str] = {
    "job": "string", "chain": "string", "site": "int32", "frame": "int32", "whole": "int8",
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
}  # fmt: skip
NO_WORD = -1
READ, GIVEN, DERIVED, SERIES = range(4)  # where a value is from
NAMES = ("site", "subject", "frame", "quantity", "word", "kind")

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
    numbers: list[tuple[int, int, Known]] = []
    words: list[tuple[int, int, Known]] = []
    for number, job in enumerate(jobs):
        _job(number, job, block, names)
        for view in job.views:
            place = len(block["view_group"])
            block["view_group"].append(2 * number + (view.stage == AS_LEFT))
            block["view_subject"].append(names.of("subject", view.subject))
            block["view_home"].append(int(view.subject == job.head.subject))
            block["view_judged"].append(int(view.judged))
            for name, known in view.known.items():
                kept = numbers if isinstance(known.value, Measure) else words
                kept.append((names.of("quantity", name), place, known))
    quantities = len(names.made["quantity"])
    for what, kept in (("number", numbers), ("word", words)):
        kept.sort(key=itemgetter(0))
        counts = [0] * quantities
        for quantity, place, known in kept:
            counts[quantity] += 1
            block[f"{what}_view"].append(place)
            _value(known.value, block, what, names)
            origin = _origin(known)
            block[f"{what}_origin"].append(origin)
            if origin == SERIES:
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


def _value(value: Measure | str, block: Block, what: str, names: NameLists) -> None:
    if isinstance(value, Measure):
        block[what].append(value.value)
        block[f"{what}_plus_minus"].append(value.plus_minus or 0.0)
    else:
        block[what].append(names.of("word", value))


def _samples(known: Known, place: int, block: Block, names: NameLists) -> None:
    for reading in known.readings:
        value = reading.value
        measured = isinstance(value, Measure)
        seconds = float("nan") if reading.seconds is None else reading.seconds
        block["sample_of"].append(place)
        block["sample_seconds"].append(seconds)
        block["sample_number"].append(value.value if isinstance(value, Measure) else 0.0)
        spread = (value.plus_minus or 0.0) if isinstance(value, Measure) else 0.0
        block["sample_plus_minus"].append(spread)
        block["sample_word"].append(NO_WORD if measured else names.of("word", str(value)))


def _origin(known: Known) -> int:
    if known.derived:
        return DERIVED
    if not known.measured:
        return GIVEN
    plain = len(known.readings) == 1 and known.readings[0].seconds is None
    return READ if plain else SERIES
