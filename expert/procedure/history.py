"""What earlier jobs of a site left for a new one: last readings, open items, set points.

It is handed in when the job begins and kept as the job's first entry, so that resuming and judging
again years later see the same, whatever was recorded meanwhile.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import datetime
from math import hypot

from expert.inference.evaluation_model import Reading
from expert.made_when_used import dataclass
from expert.procedure.entries import Entry
from expert.units.kinds import Kind
from expert.units.measure import Measure

MOST_EARLIER = 3
DONE, STILL_OPEN, NOT_LOOKED_AT = "done", "still open", "not looked at"


@dataclass(frozen=True)
class Earlier:
    """A reading of an earlier job. `beside` are site readings of that job: title and value; `way`
    is how it was read, where that was said."""

    at: datetime
    value: Measure | str
    who: str
    job: str
    stage: str = ""
    beside: tuple[tuple[str, Measure], ...] = ()
    way: str = ""


@dataclass(frozen=True)
class OpenItem:
    """Something that an earlier job left open. `key` names it across jobs and machines."""

    key: str
    kind: str
    subject: str
    text: str
    since: datetime | None = None
    job: str = ""
    who: str = ""


@dataclass(frozen=True)
class SetPoint:
    """A value of the site as a job changed it; `file` is what the site file said then.

    `subject` is what the value belongs to; value in SI or a choice phrase.
    """

    subject: str
    quantity: str
    value: float | str
    text: str
    file: str
    at: datetime
    who: str
    job: str
    why: str = ""


@dataclass(frozen=True)
class PastOutcome:
    """What a finding of an earlier job on the same equipment turned out to be, in words."""

    at: datetime
    says: str
    who: str
    job: str


@dataclass(frozen=True)
class History:
    """Everything handed in; `elsewhere` counts open items of the site on other equipment.

    `readings` are by quantity and subject, the job's own being '', the newest first. `carried` is
    the job that this one goes on with: its readings need only be confirmed.
    """

    readings: Mapping[tuple[str, str], tuple[Earlier, ...]] = field(default_factory=dict)
    open: tuple[OpenItem, ...] = ()
    set_points: tuple[SetPoint, ...] = ()
    elsewhere: int = 0
    carried: str = ""
    outcomes: tuple[PastOutcome, ...] = ()

    def __bool__(self) -> bool:
        standing = self.readings or self.open or self.set_points or self.outcomes
        return bool(standing or self.elsewhere or self.carried)

    def carried_over(self, quantity: str) -> Earlier | None:
        """The reading of the job that this one goes on with."""
        found = self.readings.get((quantity, ""), ()) if self.carried else ()
        return next((each for each in found if each.job == self.carried), None)


@dataclass(frozen=True)
class Drift:
    """A reading that differs from the last one by more than both instruments explain.

    `by` is in SI, new less old; `within` what both accuracies come to, root of the sum of squares.
    """

    last: Earlier
    by: float
    within: float


def drift(reading: Reading, last: Earlier) -> Drift | None:
    """How far a reading has drifted; None where it has not, or where that cannot be told.

    Basis: both readings are independent, so their accuracies add as the root of the sum of
    squares (published: JCGM 100:2008, 5.1.2); no rule of the trade enters. A reading without a
    known accuracy tells nothing.
    """
    new, old = reading.value, last.value
    if isinstance(new, str) or isinstance(old, str) or new.kind is not old.kind:
        return None
    if new.plus_minus is None or old.plus_minus is None:
        return None
    by, within = new.value - old.value, hypot(new.plus_minus, old.plus_minus)
    return Drift(last, by, within) if abs(by) > within else None


def items_of(entry: Entry) -> tuple[OpenItem, ...]:
    """The items that an entry lists under 'items'; what is malformed is left out."""
    found = entry.data.get("items")
    items = found if isinstance(found, list) else []
    return tuple(_item(each) for each in items if isinstance(each, dict) and each.get("key"))


def item_data(item: OpenItem) -> dict[str, object]:
    """An item as JSON holds it."""
    data: dict[str, object] = {
        "key": item.key, "kind": item.kind, "subject": item.subject, "text": item.text,
    }  # fmt: skip
    if item.since is not None:
        data |= {"since": item.since.isoformat(), "job": item.job, "who": item.who}
    return data


def _item(data: Mapping[str, object]) -> OpenItem:
    texts = {name: str(data.get(name, "")) for name in ("key", "kind", "subject", "text")}
    since = data.get("since")
    return OpenItem(
        **texts,
        since=datetime.fromisoformat(since) if isinstance(since, str) else None,
        job=str(data.get("job", "")),
        who=str(data.get("who", "")),
    )


def history_data(history: History) -> dict[str, object]:
    """A history as the data of an entry."""
    return {
        "readings": [
            {"quantity": quantity, "subject": subject, **_earlier_data(each)}
            for (quantity, subject), found in history.readings.items()
            for each in found
        ],
        "items": [item_data(item) for item in history.open],
        "set_points": [
            {
                "subject": each.subject, "quantity": each.quantity, "value": each.value,
                "text": each.text, "file": each.file, "at": each.at.isoformat(), "who": each.who,
                "job": each.job, "why": each.why,
            }
            for each in history.set_points
        ],
        "elsewhere": history.elsewhere,
        **({"carried": history.carried} if history.carried else {}),
        **({"outcomes": [{**vars(each), "at": each.at.isoformat()} for each in history.outcomes]}
           if history.outcomes else {}),
    }  # fmt: skip


def history_of(entry: Entry) -> History:
    """The history that an entry holds; the reverse of `history_data`."""
    readings: dict[tuple[str, str], tuple[Earlier, ...]] = {}
    for each in _dicts(entry, "readings"):
        key = (str(each.get("quantity")), str(each.get("subject", "")))
        readings[key] = (*readings.get(key, ()), _earlier(each))
    points = tuple(
        SetPoint(
            **{name: str(each.get(name, "")) for name in ("subject", "quantity", "text", "file")},
            value=each["value"] if isinstance(each["value"], float | str) else str(each["value"]),
            at=datetime.fromisoformat(str(each["at"])),
            **{name: str(each.get(name, "")) for name in ("who", "job", "why")},
        )
        for each in _dicts(entry, "set_points")
    )  # fmt: skip
    elsewhere = entry.data.get("elsewhere", 0)
    return History(
        readings, items_of(entry), points, elsewhere if isinstance(elsewhere, int) else 0,
        entry.text("carried"),
        tuple(
            PastOutcome(
                datetime.fromisoformat(str(each["at"])),
                *(str(each.get(name, "")) for name in ("says", "who", "job")),
            )
            for each in _dicts(entry, "outcomes")
        ),
    )  # fmt: skip


def history_in(entries: Iterable[Entry]) -> History:
    """The history that a job was given when it began."""
    given = next((entry for entry in entries if entry.kind == "history"), None)
    return history_of(given) if given is not None else History()


def _dicts(entry: Entry, name: str) -> list[dict[str, object]]:
    found = entry.data.get(name)
    return [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []


def _earlier_data(each: Earlier) -> dict[str, object]:
    return {
        "at": each.at.isoformat(), **measured_data(each.value), "who": each.who, "job": each.job,
        "stage": each.stage, **({"way": each.way} if each.way else {}),
        "beside": [{"title": title, **measured_data(value)} for title, value in each.beside],
    }  # fmt: skip


def _earlier(data: Mapping[str, object]) -> Earlier:
    found = data.get("beside")
    beside = [
        (str(each["title"]), value)
        for each in (found if isinstance(found, list) else [])
        if isinstance(value := measured(each), Measure)
    ]
    texts = {name: str(data.get(name, "")) for name in ("who", "job", "stage", "way")}
    at = datetime.fromisoformat(str(data["at"]))
    return Earlier(at, measured(data), beside=tuple(beside), **texts)


def measured_data(value: Measure | str) -> dict[str, object]:
    """A value with its kind and accuracy, as an answer's entry keeps it."""
    if isinstance(value, str):
        return {"value": value}
    return {"value": value.value, "kind": value.kind.value, "plus_minus": value.plus_minus}


def measured(data: Mapping[str, object]) -> Measure | str:
    """The value of an answer's data: a measure in SI, or a phrase."""
    value, spread = data.get("value"), data.get("plus_minus")
    if not isinstance(value, int | float):
        return str(value)
    plus_minus = float(spread) if isinstance(spread, int | float) else None
    return Measure(Kind(str(data.get("kind"))), float(value), plus_minus)
