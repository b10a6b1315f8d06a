"""What a person may say that a finding turned out to be, and of which ones nobody has said it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from expert.errors import ReadingError
from expert.knowledge.hints import hint_by_words
from expert.knowledge.model import Cause, Rulebase
from expert.knowledge.synonyms import called
from expert.procedure.entries import Entry
from expert.report.outcomes import ANOTHER, CONFIRMED, KIND, NOT_KNOWN, NOT_SO, TurnedOut, key_of
from expert.report.told import Told, ToldFinding, told_in

FORM = "Type yes, no, the cause that it was (in words or by id), or ? for not known."
_WORDS = {
    "yes": CONFIRMED, "y": CONFIRMED, "confirmed": CONFIRMED, "no": NOT_SO, "n": NOT_SO,
    "not so": NOT_SO, "?": NOT_KNOWN, "not known": NOT_KNOWN, "unknown": NOT_KNOWN,
}  # fmt: skip
# Which answer these are is not guessed: none of the findings, or nothing that was wrong at all.
_NOT_ONE = ("none", "nothing", "none of them", "none of these")
NOTHING = ToldFinding("", "", "", "", "", 0.0)
MOST_ASKED = 3


def answer_in(text: str, finding: ToldFinding, rules: Rulebase) -> TurnedOut:
    """What a typed answer says of a finding. Raises ReadingError with what would do."""
    typed = " ".join(text.lower().split())
    if not typed:
        raise ReadingError(FORM)
    if typed in _NOT_ONE:
        raise ReadingError(
            f"'{typed}' may be one of two: no, it was not this; ? is not known. {FORM}"
        )
    told = TurnedOut(
        finding.subject, finding.cause, finding.title, finding.words, NOT_KNOWN,
        rules=finding.rules,
    )  # fmt: skip
    if typed in _WORDS:
        answer = _WORDS[typed]
        same = (finding.cause, finding.title) if answer == CONFIRMED else ("", "")
        return _with(told, answer, *same)
    cause = cause_called(typed, rules.causes)
    answer = CONFIRMED if cause.id == finding.cause else ANOTHER
    return _with(told, answer, cause.id, cause.title)


def cause_called(typed: str, causes: Mapping[str, Cause]) -> Cause:
    """The cause of an id, a title, or of words that only one title has. Raises ReadingError."""
    titles = {each.title.lower(): each for each in causes.values()}
    meant = called(typed, causes.values())
    if not meant:
        words = typed.replace("-", " ").split()
        meant = [each for title, each in titles.items() if all(word in title for word in words)]
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise ReadingError(f"'{typed}' could be: {'; '.join(each.title for each in meant[:6])}.")
    hint = hint_by_words(typed, causes.values()) or "'rackwalk rules handbook' lists the causes."
    raise ReadingError(f"No cause is called '{typed}'. {hint}")


def asked_of(told: Told | None, subject: str) -> Sequence[ToldFinding]:
    """The findings of a job of which it is asked: the first ones, without what was only thought
    of beside them (less than half as sure as the first; own choice)."""
    own = [each for each in (told.findings if told else ()) if each.subject == subject]
    surest = max((each.certainty for each in own), default=0.0)
    return [each for each in own if each.certainty >= surest / 2][:MOST_ASKED]


def unsaid(entries: Sequence[Entry], subject: str) -> Sequence[ToldFinding]:
    """The findings of a finished job of which nobody has said what they turned out to be."""
    said = {each.step for each in entries if each.kind == KIND}
    told = asked_of(told_in(entries), subject)
    return [each for each in told if key_of(each.subject, each.cause) not in said]


def _with(told: TurnedOut, answer: str, actual: str, title: str) -> TurnedOut:
    return TurnedOut(
        told.subject, told.cause, told.title, told.words, answer, actual, title, rules=told.rules
    )
