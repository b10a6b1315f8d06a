"""Which quantities go into the records: read from reports/records.yaml, not from Python."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from expert.errors import PackError
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, read_yaml
from expert.places import shipped

ADDED, RECOVERED, FULL_CHARGE = "added", "recovered", "full charge"
REPAIR, INITIAL, FOLLOW_UP, INSPECTION, OPENED = (
    "repair", "initial verification", "follow-up verification", "leak inspection", "circuit opened",
)  # fmt: skip
_SECTIONS = ("refrigerant", "audit")
_NAMED = ("cylinder", "certificate", "addition_reason", "recovery_reason", "how")
_REFRIGERANT = (
    "amounts", "entry", *_NAMED, "addition_reasons", "seasonal_recovery", "full_charge", "method",
    "methods", "law", "laws", "happenings",
)  # fmt: skip
_ENTRY = ("checklist", "kind", "day", "amount")


@dataclass(frozen=True)
class Amount:
    """A quantity that is an amount of refrigerant, and which way it went."""

    quantity: str
    kind: str
    same_leak: bool


@dataclass(frozen=True)
class SourcedCount:
    """A number of the audit with its source."""

    value: int
    source: str


@dataclass(frozen=True)
class RecordRoles:
    """Ids of quantities by the part they play, and the two figures of the audit.

    `entry` has the checklist of a single log entry and its quantities kind, day and amount;
    `happenings` gives what a choice of a quantity means, by (quantity, choice).
    """

    amounts: Mapping[str, Amount]
    entry: Mapping[str, str]
    cylinder: str
    certificate: str
    addition_reason: str
    recovery_reason: str
    how: str
    addition_reasons: Mapping[str, str]
    seasonal_recovery: str
    full_charge: str
    method: str
    methods: Mapping[str, str]
    law: str
    laws: Mapping[str, str]
    happenings: Mapping[tuple[str, str], str]
    repeat_within: SourcedCount
    compare_from: SourcedCount

    @property
    def quantities(self) -> tuple[str, ...]:
        """Every quantity that makes a job part of the refrigerant log."""
        happened = (quantity for quantity, _ in self.happenings)
        return tuple(dict.fromkeys((*self.amounts, self.entry["amount"], *happened)))


@cache
def record_roles() -> RecordRoles:
    """The roles of the shipped file. Raises PackError."""
    reader = Reader()
    path = shipped("reports") / "records.yaml"
    root = reader.fields(read_yaml(path), "the records", _SECTIONS, _SECTIONS)
    if root is None:
        raise PackError(reader.problems)
    books = reader.fields(root.fields["refrigerant"], "refrigerant", _REFRIGERANT, _REFRIGERANT)
    audit = reader.fields(
        root.fields["audit"], "audit", ("repeat_within", "compare_from"),
        ("repeat_within", "compare_from"),
    )  # fmt: skip
    if books is None or audit is None:
        raise PackError(reader.problems)
    got = books.fields
    amounts = _rows(reader, books, "amounts", ("quantity", "is"), ("same_leak",))
    happened = _rows(reader, books, "happenings", ("quantity", "is", "means"), ())
    made = RecordRoles(
        {
            each["quantity"]: Amount(each["quantity"], each["is"], each["same_leak"] == "yes")
            for each in amounts
        },
        _texts(reader, books, "entry", _ENTRY),
        reader.text(got["cylinder"], "cylinder"),
        reader.text(got["certificate"], "certificate"),
        reader.text(got["addition_reason"], "addition_reason"),
        reader.text(got["recovery_reason"], "recovery_reason"),
        reader.text(got["how"], "how"),
        _texts(reader, books, "addition_reasons"),
        reader.text(got["seasonal_recovery"], "seasonal_recovery"),
        reader.text(got["full_charge"], "full_charge"),
        reader.text(got["method"], "method"),
        _texts(reader, books, "methods"),
        reader.text(got["law"], "law"),
        _texts(reader, books, "laws"),
        {(each["quantity"], each["is"]): each["means"] for each in happened},
        _figure(reader, audit, "repeat_within", "days"),
        _figure(reader, audit, "compare_from", "jobs"),
    )
    if reader.problems:
        raise PackError(reader.problems)
    return made


def _rows(
    reader: Reader, above: Fields, name: str, needed: tuple[str, ...], more: tuple[str, ...]
) -> list[dict[str, str]]:
    rows = (
        reader.fields(each, f"each of {name}", (*needed, *more), needed)
        for each in reader.items(above.fields[name], name)
    )
    return [
        {key: reader.text(row.fields.get(key), key) for key in (*needed, *more)}
        for row in rows
        if row is not None
    ]


def _texts(
    reader: Reader, above: Fields, name: str, needed: tuple[str, ...] = ()
) -> dict[str, str]:
    node = above.fields[name]
    if not isinstance(node, Fields):
        reader.problem("not-a-mapping", f"{name} must be 'key: value' lines.", node.place)
        return dict.fromkeys(needed, "")
    reader.fields(node, name, needed or tuple(node.fields), needed)
    return {key: reader.text(value, key) for key, value in node.fields.items()}


def _figure(reader: Reader, above: Fields, name: str, unit: str) -> SourcedCount:
    row = reader.fields(above.fields[name], name, (unit, "source"), (unit, "source"))
    if row is None:
        return SourcedCount(0, "")
    text = reader.text(row.fields[unit], unit)
    if not text.isdecimal():
        place = row.fields[unit].place
        reader.problem("not-a-number", f"'{text}' is no whole number of {unit}.", place)
        return SourcedCount(0, "")
    return SourcedCount(int(text), reader.text(row.fields["source"], "source"))
