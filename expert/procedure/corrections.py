"""What was entered and then entered otherwise: before, after, who, when and why."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from expert.made_when_used import dataclass
from expert.procedure.closing import in_words
from expert.procedure.entries import Entry

_DONE = {"acknowledge": "yes", "done": "done", "clock": "started"}
NOT_SAID = "not said"


@dataclass(frozen=True)
class Correction:
    """One answer that replaced another at a step; `by` may be unknown (empty)."""

    step: str
    subject: str
    before: str
    after: str
    at: datetime
    by: str
    why: str
    before_at: datetime
    before_by: str


def corrections(entries: Iterable[Entry]) -> tuple[Correction, ...]:
    """Every answer of a job that replaced another one, in the order of their time."""
    stood: dict[str, Entry] = {}
    opened: dict[str, Entry] = {}
    notes: dict[str, list[str]] = {}
    found: list[Correction] = []
    for entry in entries:
        if entry.kind == "reopen":
            opened[entry.step] = entry
            notes[entry.step] = []
        elif entry.kind == "note" and entry.step in opened:
            notes[entry.step].append(entry.text("text"))
        elif entry.closes:
            if entry.step in opened and entry.step in stood:
                before, after = stood[entry.step], entry
                texts = answer_of(before), answer_of(after)
                if texts[0] != texts[1]:
                    why = opened[entry.step].text("why") or "; ".join(notes[entry.step]) or NOT_SAID
                    found.append(
                        Correction(
                            entry.step, entry.text("subject"), *texts, entry.at, entry.who, why,
                            before.at, before.who,
                        )
                    )  # fmt: skip
            opened.pop(entry.step, None)
            stood[entry.step] = entry
    return tuple(found)


def answer_of(entry: Entry) -> str:
    """What was entered, in a few words."""
    if entry.kind == "answer":
        phrase = entry.text("value")  # '1' was typed for 'still frosted'
        return phrase or entry.text("text")
    if entry.kind == "skip":
        return f"skipped, {entry.text('reason')}"
    if entry.refuses:
        return f"no, {entry.text('reason')}".removesuffix(", ")
    if entry.kind == "leave":
        return f"not so, {entry.text('reason')}"
    if entry.kind == "close":
        return in_words(entry)
    if entry.kind == "adjust":
        return f"{entry.text('what')}, {entry.text('from')} to {entry.text('to')}"
    if entry.kind == "sign":
        return entry.text("name")
    if entry.kind == "choose":
        return ", ".join(entry.members) or "none"
    if entry.text("not_for"):
        return "passed over"
    if entry.kind == "open":
        reason = entry.text("reason")
        return f"{entry.text('answer')}, {reason}" if reason else entry.text("answer")
    return _DONE.get(entry.kind, entry.kind)


def same_name(one: str, other: str) -> bool:
    """Whether two names are written the same but for spaces and capitals."""
    return "".join(one.casefold().split()) == "".join(other.casefold().split())
