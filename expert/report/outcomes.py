"""What it turned out to be: said of a finding when somebody has looked."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from expert.made_when_used import dataclass
from expert.procedure.entries import Draft, Entry

KIND = "outcome"
CONFIRMED, NOT_SO, ANOTHER, NOT_KNOWN = "confirmed", "not so", "another cause", "not known"
SAYS = {
    CONFIRMED: "was confirmed", NOT_SO: "was not so", ANOTHER: "was another cause",
    NOT_KNOWN: "is not known",
}  # fmt: skip


@dataclass(frozen=True)
class TurnedOut:
    """What became of a finding. `cause` is as told, empty where nothing was found; `actual` the
    cause it was, empty where that is not known; `how` tells how it was proven.
    """

    subject: str
    cause: str
    title: str
    words: str
    answer: str
    actual: str = ""
    actual_title: str = ""
    how: str = ""
    rules: tuple[str, ...] = ()
    who: str = ""
    at: datetime | None = None

    @property
    def says(self) -> str:
        """As a sentence without who and when."""
        return f"{self.what}. How it was proven: {self.how or 'not said'}"

    @property
    def what(self) -> str:
        """What was told and what it was, without how it was proven."""
        was = f"{self.title or 'nothing was found'}: {SAYS[self.answer]}"
        return (
            f"{was}, {self.actual_title}" if self.actual_title and self.answer == ANOTHER else was
        )


def key_of(subject: str, cause: str) -> str:
    """The step of an entry: the last word on a finding is the one that counts."""
    return f"outcome:{subject}:{cause}"


def draft_of(outcome: TurnedOut) -> Draft:
    """The entry that keeps it."""
    names = ("subject", "cause", "title", "words", "answer", "actual", "actual_title", "how")
    data: dict[str, object] = {name: getattr(outcome, name) for name in names}
    data["rules"] = list(outcome.rules)
    return Draft(KIND, key_of(outcome.subject, outcome.cause), data)


def outcome_of(entry: Entry) -> TurnedOut:
    """What an entry says."""
    names = ("subject", "cause", "title", "words", "answer", "actual", "actual_title", "how")
    texts = {name: entry.text(name) for name in names}
    if texts["answer"] not in SAYS:
        texts["answer"] = NOT_KNOWN
    found = entry.data.get("rules")
    rules = tuple(map(str, found)) if isinstance(found, list) else ()
    return TurnedOut(**texts, rules=rules, who=entry.who, at=entry.at)


def outcomes_in(entries: Iterable[Entry]) -> tuple[TurnedOut, ...]:
    """The last word on each finding of a job."""
    last = {entry.step: entry for entry in entries if entry.kind == KIND}
    return tuple(outcome_of(entry) for entry in last.values())
