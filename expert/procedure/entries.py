"""What happens in a job, one entry each. A job is nothing but its list of entries."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import cached_property
from typing import TYPE_CHECKING

from expert.made_when_used import dataclass

if TYPE_CHECKING:
    from expert.inference.evaluation_model import Reading

KINDS = (
    "answer", "skip", "acknowledge", "done", "note", "clock", "adjust", "reopen", "sign", "photo",
    "stop", "resume", "choose", "history", "open", "left", "leave", "close",
    "judged", "outcome", "depth",
)  # fmt: skip
CLOSING = (
    "answer", "skip", "acknowledge", "done", "clock", "adjust", "sign", "choose", "open", "leave",
    "close",
)  # fmt: skip

# Keys of the data of entries that the session itself puts there.
PASSED, BY_NAME, EARLY, ONCE = "passed", "by_name", "early", "once"

Data = Mapping[str, object]


@dataclass(frozen=True)
class Draft:
    """An entry before it has its number and time. `data` holds only what JSON can hold."""

    kind: str
    step: str
    data: Data


@dataclass(frozen=True)
class Entry:
    """One thing that happened, numbered from 1 within its job. Never changed, never removed.

    `step` is a step key, or empty where the entry belongs to the whole job. What `data` holds:
    answer {quantity, kind, text, value (SI number or phrase), plus_minus, stage, round, sample,
    at_minute, taken, confirmed, way (how it was read, where that was said)}, skip {reason},
    acknowledge {caution, answer, reason}, done {opened, restored, not_for},
    clock {clock, started}, adjust {what, from, to, round} and, where a value of the site is set,
    {sets, value, on, file},
    choose {members}, history (`history.py`), open {item, answer, reason}, left {items},
    leave {reason} at a stop, close {state, detail} (`closing.py`), depth {depth} (`screens.py`),
    note {text} and of a work order {order}, photo {path, media, hash, caption} (`photo_file.py`),
    sign {name}, reopen {why}, judged (`report/told.py`), outcome (`report/outcomes.py`). `taken`
    and `started` are ISO times; `confirmed` says that an unusual value was asked about and stood
    by. `asked` is what the step asked (`asked.py`). `passed` says why a step was closed without a
    question, `by_name` that a reading was typed with its name, `early` why it was made before its
    time, `once` by what mark it is known, so that what is handed over twice is entered once.
    `subject` is the member on which it was done, absent for the job's own. `who` entered it, empty
    where that was not kept.
    """

    seq: int
    at: datetime
    kind: str
    step: str
    data: Data
    who: str = ""

    @cached_property
    def readings(self) -> dict[tuple[str, int | None], Reading]:
        """The readings that were made of it, by stage and round (`picture.reading_of`)."""
        return {}

    @property
    def closes(self) -> bool:
        """Whether the step needs nothing more; a caution answered no stays open until told why."""
        if self.kind == "acknowledge":
            return self.data.get("answer") == "yes" or self.refuses
        return self.kind in CLOSING

    @property
    def refuses(self) -> bool:
        """Whether a caution was answered no and what it guards is left out."""
        no = self.kind == "acknowledge" and self.data.get("answer") != "yes"
        return no and "reason" in self.data

    def text(self, name: str) -> str:
        """A text of the data, empty where it is missing."""
        value = self.data.get(name, "")
        return value if isinstance(value, str) else ""

    @property
    def members(self) -> tuple[str, ...]:
        """The ids of the members that were chosen."""
        found = self.data.get("members")
        return tuple(map(str, found)) if isinstance(found, list) else ()

    def time(self, name: str) -> datetime | None:
        """A time of the data, None where it is missing."""
        text = self.text(name)
        return datetime.fromisoformat(text) if text else None


def thing(text: str, subject: str) -> str:
    """What was opened, with the member on which it was: 'probe fitted (A1)'."""
    return f"{text} ({subject})" if text and subject else text


def to_json(entry: Entry) -> str:
    """The entry as one line of JSON."""
    return json.dumps(
        {
            "seq": entry.seq,
            "at": entry.at.isoformat(),
            "kind": entry.kind,
            "step": entry.step,
            "data": dict(entry.data),
            **({"who": entry.who} if entry.who else {}),
        },
        ensure_ascii=False,
        allow_nan=False,
    )


def from_json(line: str) -> Entry:
    """The entry of one line of JSON; the reverse of `to_json`."""
    found = json.loads(line)
    return Entry(
        int(found["seq"]),
        datetime.fromisoformat(found["at"]),
        str(found["kind"]),
        str(found["step"]),
        dict(found["data"]),
        str(found.get("who", "")),
    )
