"""The current picture of a job: a pure fold over its entries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import datetime
from functools import cached_property

from expert.inference.evaluation_model import Reading
from expert.made_when_used import dataclass
from expert.procedure.entries import Entry, thing
from expert.units.kinds import Kind
from expert.units.measure import Measure

OPENING = "done"  # the kind of entry by which something is opened or put back


@dataclass(frozen=True)
class Adjustment:
    """One thing that was changed: what, from which position, to which, in which round.

    `subject` is the member on which it was, empty for the job's own subject.
    """

    what: str
    before: str
    after: str
    round: int
    at: datetime
    step: str
    subject: str = ""


@dataclass(frozen=True)
class Picture:
    """Everything that is in force after the entries so far.

    `closed` holds the closing entry of each step key, `earlier` what stood there before the step
    was reopened. `clocks` are start times by name. `opened` holds, by step key, the last entry
    that opened something; `restored`, by what was opened, the last entry that put it back.
    """

    entries: tuple[Entry, ...] = ()
    closed: Mapping[str, Entry] = field(default_factory=dict)
    earlier: Mapping[str, Entry] = field(default_factory=dict)
    clocks: Mapping[str, datetime] = field(default_factory=dict)
    opened: Mapping[str, Entry] = field(default_factory=dict)
    restored: Mapping[str, Entry] = field(default_factory=dict)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Every answer in force, in the order of entry, also of steps that no longer apply."""
        answers = (entry for entry in self._in_force("answer"))
        return tuple(reading_of(entry) for entry in answers)

    @property
    def acknowledged(self) -> tuple[Entry, ...]:
        """The cautions that were answered with yes."""
        return tuple(entry for entry in self._in_force("acknowledge") if not entry.refuses)

    @property
    def refused(self) -> tuple[Entry, ...]:
        """The cautions that were answered no, so that what they guard was left out."""
        return tuple(entry for entry in self._in_force("acknowledge") if entry.refuses)

    @property
    def ended_at(self) -> tuple[Entry, ...]:
        """The stops at which a person went no further, or on with a reason."""
        return self._in_force("leave")

    @property
    def closed_as(self) -> Entry | None:
        """How the job was closed, where that is other than done."""
        return self.closed.get("close")

    @cached_property
    def signed_at(self) -> int:
        """The number of a signature after which nothing was reopened, else 0."""
        signs = [entry.seq for entry in self._in_force("sign")]
        reopened = [entry.seq for entry in self.entries if entry.kind == "reopen"]
        last = max(signs, default=0)
        return last if last > max(reopened, default=0) else 0

    @cached_property
    def asked_after(self) -> Mapping[str, tuple[str, ...]]:
        """The quantities of keys 'search!quantity' and 'step+quantity', by what stands before."""
        found: dict[str, dict[str, None]] = {}
        for entry in self.entries:
            if entry.kind in ("answer", "skip", "reopen"):
                for sign in "!+":
                    begun, there, name = entry.step.rpartition(sign)
                    if there:
                        found.setdefault(begun + sign, {})[name] = None
        return {begun: tuple(names) for begun, names in found.items()}

    @property
    def skips(self) -> tuple[Entry, ...]:
        """The steps that were skipped, each with its reason."""
        return self._in_force("skip")

    @property
    def notes(self) -> tuple[Entry, ...]:
        """Every note."""
        return tuple(entry for entry in self.entries if entry.kind == "note")

    @property
    def work_order(self) -> str:
        """The number of the work order that was kept last, empty where none was."""
        found = (each.text("order") for each in reversed(self.entries) if each.kind == "note")
        return next(filter(None, found), "")

    @property
    def photos(self) -> tuple[Entry, ...]:
        """Every photo."""
        return tuple(entry for entry in self.entries if entry.kind == "photo")

    @property
    def adjustments(self) -> tuple[Adjustment, ...]:
        """What was changed, in order."""
        return tuple(
            Adjustment(
                entry.text("what"),
                entry.text("from"),
                entry.text("to"),
                whole(entry, "round"),
                entry.at,
                entry.step,
                entry.text("subject"),
            )
            for entry in self._in_force("adjust")
        )

    @property
    def still_open(self) -> tuple[str, ...]:
        """What was opened and has not been put back since, also where its step was reopened."""
        last: dict[str, int] = {}
        for entry in self.opened.values():
            text = thing(entry.text("opened"), entry.text("subject"))
            last[text] = max(entry.seq, last.get(text, 0))
        return tuple(
            text
            for text, seq in last.items()
            if text not in self.restored or self.restored[text].seq < seq
        )

    def before(self, key: str) -> Entry | None:
        """What stands at a step or stood there before it was reopened."""
        return self.closed.get(key) or self.earlier.get(key)

    def history(self, key: str) -> tuple[Entry, ...]:
        """Everything that was entered at a step, corrections included."""
        return tuple(entry for entry in self.entries if entry.step == key)

    def _in_force(self, kind: str) -> tuple[Entry, ...]:
        found = (entry for entry in self.closed.values() if entry.kind == kind)
        return tuple(sorted(found, key=lambda entry: entry.seq))


def fold(entries: Iterable[Entry]) -> Picture:
    """The picture after some entries. Depends on them alone."""
    kept = tuple(entries)
    closed: dict[str, Entry] = {}
    earlier: dict[str, Entry] = {}
    clocks: dict[str, datetime] = {}
    opened: dict[str, Entry] = {}
    restored: dict[str, Entry] = {}
    for entry in kept:
        if entry.kind == "reopen":
            if entry.step in closed:
                earlier[entry.step] = closed.pop(entry.step)
        elif entry.closes:
            closed[entry.step] = entry
            earlier.pop(entry.step, None)
        if entry.kind == "clock":
            clocks[entry.text("clock")] = entry.time("started") or entry.at
        elif entry.kind == OPENING and entry.text("opened"):
            opened[entry.step] = entry
        elif entry.kind == OPENING and entry.text("restored"):
            restored[thing(entry.text("restored"), entry.text("subject"))] = entry
    return Picture(kept, closed, earlier, clocks, opened, restored)


def reading_of(entry: Entry, stage: str = "", round_: int | None = None) -> Reading:
    """The reading that an answer entry holds; stage and round as entered unless given.

    Asked for at every answer of a job: the same object each time, told apart without a look
    at what is in it.
    """
    made = entry.readings.get((stage, round_))
    if made is None:
        made = entry.readings[stage, round_] = _reading_of(entry, stage, round_)
    return made


def _reading_of(entry: Entry, stage: str, round_: int | None) -> Reading:
    value = entry.data["value"]
    spread = entry.data.get("plus_minus")
    measured: Measure | str
    if isinstance(value, int | float):
        plus_minus = float(spread) if isinstance(spread, int | float) else None
        measured = Measure(Kind(entry.text("kind")), float(value), plus_minus)
    else:
        measured = str(value)
    return Reading(
        quantity=entry.text("quantity"),
        value=measured,
        text=entry.text("text"),
        stage=stage or entry.text("stage"),
        round=whole(entry, "round") if round_ is None else round_,
        at=entry.time("taken") or entry.at,
        step=entry.step,
        seconds=_seconds(entry),
        subject=entry.text("subject"),
        way=entry.text("way"),
    )


def _seconds(entry: Entry) -> float | None:
    """The time of a sample on its clock."""
    minute = entry.data.get("at_minute")
    return float(minute) * 60 if isinstance(minute, int | float) else None


def whole(entry: Entry, name: str) -> int:
    """A whole number of an entry's data, 0 where it is missing."""
    value = entry.data.get(name, 0)
    return value if isinstance(value, int) else 0
