"""The known values of jobs as lists of numbers, and the names that the numbers stand for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from expert.columns.known_values import JobValues
from expert.inference.evaluation_model import Known, Reading
from expert.procedure.world import AS_LEFT
from expert.units.measure import Measure

FORM = 1
LISTS: Mapping[str, str] = {
    # site, subject, frame of the job; whether it is whole
    "head": "int32",
    "view_stage": "int8", "view_subject": "int32", "view_judged": "int8", "view_values": "int32",
    "quantity": "int16", "value": "float64", "plus_minus": "float64", "word": "int16",
    "origin": "int8",
    "group_stage": "int8", "group_kind": "int16", "group_count": "int16", "group_beside": "int32",
    "asked_subject": "int32", "asked_quantity": "int16", "asked_value": "float64",
    "asked_plus_minus": "float64", "asked_answer": "int16",
    # readings of a series, by the place of its value among those of the job
    "sample_of": "int32", "sample_seconds": "float64", "sample_value": "float64",
    "sample_plus_minus": "float64", "sample_word": "int16",
}  # fmt: skip
NUMBER = -1  # in the place of a word
READ, GIVEN, DERIVED, SERIES = range(4)  # where a value is from
NAMES = ("site", "subject", "frame", "quantity", "word", "kind", "beside")

Row = dict[str, list[float]]


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


def flat_rows(jobs: Iterable[JobValues]) -> tuple[dict[str, list[object]], NameLists]:
    """The columns of some jobs: their ids, entries and lists; and the names in them."""
    names = NameLists()
    columns: dict[str, list[object]] = {"job": [], "entries": [], **{each: [] for each in LISTS}}
    for job in jobs:
        columns["job"].append(job.head.job)
        columns["entries"].append(job.head.entries)
        for name, numbers in _row(job, names).items():
            columns[name].append(numbers)
    return columns, names


def _row(job: JobValues, names: NameLists) -> Row:
    row: Row = {name: [] for name in LISTS}
    head = job.head
    row["head"] = [
        names.of("site", head.site), names.of("subject", head.subject),
        names.of("frame", job.frame), int(job.whole),
    ]  # fmt: skip
    for view in job.views:
        row["view_stage"].append(int(view.stage == AS_LEFT))
        row["view_subject"].append(names.of("subject", view.subject))
        row["view_judged"].append(int(view.judged))
        row["view_values"].append(len(view.known))
        for known in view.known.values():
            _value(known, row, names)
    for group in job.gathered:
        row["group_stage"].append(int(group.stage == AS_LEFT))
        row["group_kind"].append(names.of("kind", group.kind))
        row["group_count"].append(group.count)
        row["group_beside"].append(names.of("beside", " ".join(sorted(group.beside))))
    for asked in job.asked:
        row["asked_subject"].append(names.of("subject", asked.subject))
        row["asked_quantity"].append(names.of("quantity", asked.quantity))
        row["asked_value"].append(asked.value)
        row["asked_plus_minus"].append(asked.plus_minus)
        row["asked_answer"].append(asked.answer)
    return row


def _value(known: Known, row: Row, names: NameLists) -> None:
    place = len(row["quantity"])
    row["quantity"].append(names.of("quantity", known.quantity.id))
    _number(known.value, row, names, "")
    origin = _origin(known)
    row["origin"].append(origin)
    for reading in known.readings if origin == SERIES else ():
        row["sample_of"].append(place)
        seconds = reading.seconds
        row["sample_seconds"].append(float("nan") if seconds is None else seconds)
        _number(reading.value, row, names, "sample_")


def _number(value: Measure | str, row: Row, names: NameLists, begins: str) -> None:
    measured = isinstance(value, Measure)
    row[f"{begins}value"].append(value.value if isinstance(value, Measure) else 0.0)
    spread = (value.plus_minus or 0.0) if isinstance(value, Measure) else 0.0
    row[f"{begins}plus_minus"].append(spread)
    row[f"{begins}word"].append(NUMBER if measured else names.of("word", str(value)))


def _origin(known: Known) -> int:
    if known.derived:
        return DERIVED
    if not known.measured:
        return GIVEN
    return READ if _is_plain(known.readings) else SERIES


def _is_plain(readings: tuple[Reading, ...]) -> bool:
    return len(readings) == 1 and readings[0].seconds is None
