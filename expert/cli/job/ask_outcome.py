"""Asking what a finding turned out to be, and keeping the answer with the job it belongs to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime

from expert.errors import ReadingError
from expert.knowledge.hints import hint_by_words
from expert.knowledge.model import Cause, Rulebase
from expert.knowledge.synonyms import called
from expert.procedure.entries import Entry
from expert.report.outcomes import (
    ANOTHER,
    CONFIRMED,
    KIND,
    NOT_KNOWN,
    NOT_SO,
    TurnedOut,
    draft_of,
    key_of,
)
from expert.report.told import Told, ToldFinding, told_in
from expert.store.find_jobs import last_finished
from expert.store.jobs import Job, JobStore
from expert.store.kept_known import carry_on
from expert.terminal.front import Front, LeaveError, Question

FORM = "Type yes, no, the cause that it was (in words or by id), or ? for not known."
_WORDS = {
    "yes": CONFIRMED, "y": CONFIRMED, "confirmed": CONFIRMED, "no": NOT_SO, "n": NOT_SO,
    "not so": NOT_SO, "?": NOT_KNOWN, "not known": NOT_KNOWN, "unknown": NOT_KNOWN,
}  # fmt: skip
NOTHING = ToldFinding("", "", "", "", "", 0.0)
MOST_ASKED = 3
_BACK = "b"


def answer_in(text: str, finding: ToldFinding, rules: Rulebase) -> TurnedOut:
    """What a typed answer says of a finding. Raises ReadingError with what would do."""
    typed = " ".join(text.lower().split())
    if not typed:
        raise ReadingError(FORM)
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


def keep_outcome(store: JobStore, job: Job, outcome: TurnedOut, who: str) -> None:
    """Keep it as an entry of its job. Raises JobBusyError or StoreError."""
    draft = draft_of(outcome)
    seq = store.get(job.id).entries + 1
    entry = Entry(seq, datetime.now(UTC), KIND, draft.step, dict(draft.data), who)
    store.append(job.id, entry)
    carry_on(store.database, job.id, seq - 1, seq)


def asked_of(told: Told | None, subject: str) -> Sequence[ToldFinding]:
    """The findings of a job of which it is asked, the first ones only."""
    own = [each for each in (told.findings if told else ()) if each.subject == subject]
    return own[:MOST_ASKED]


def unsaid(store: JobStore, job: Job) -> Sequence[ToldFinding]:
    """The findings of a finished job of which nobody has said what they turned out to be."""
    entries = store.entries(job.id)
    said = {each.step for each in entries if each.kind == KIND}
    told = asked_of(told_in(entries), job.subject)
    return [each for each in told if key_of(each.subject, each.cause) not in said]


def ask(front: Front, store: JobStore, job: Job, rules: Rulebase, who: str) -> None:
    """Ask of each finding of a job; Enter leaves it open for the next time."""
    layout = front.layout
    for finding in unsaid(store, job):
        when = f"{job.created.astimezone():%Y-%m-%d}"
        front.show(
            [
                "",
                *layout.text(
                    f"Job {job.id} of {when} found on {finding.subject}: {finding.title}, "
                    f"{finding.words}. Was that confirmed? {FORM} Enter leaves it open."
                ),
            ]
        )
        if outcome := _asked(front, finding, rules):
            keep_outcome(store, job, outcome, who)


def _asked(front: Front, finding: ToldFinding, rules: Rulebase) -> TurnedOut | None:
    """What a person says of a finding, shown as it was understood; None where it is left open."""

    def wrong(text: str) -> str:
        try:
            if text.strip():
                answer_in(text, finding, rules)
        except ReadingError as error:
            return str(error)
        return ""

    while True:
        while refused := wrong(typed := front.ask(Question("Confirmed> ", check=wrong))):
            front.show(front.layout.text(refused))
        if not typed.strip():
            return None
        outcome = answer_in(typed, finding, rules)
        front.show(front.layout.text(f"{outcome.what}. '{_BACK}' if that is not meant."))
        how = front.ask(Question("How was it proven> ")).strip()
        if how.lower() != _BACK:
            return replace(outcome, how=how)


def ask_of_earlier(
    front: Front, store: JobStore, job: Job, rules: Rulebase, *, most: int = 2
) -> bool:
    """At a visit: ask of the newest finished jobs on the same subject; whether to go on."""
    earlier = last_finished(store.database, job.site, job.subject, most + 1)
    try:
        for each in [each for each in earlier if each != job.id][:most]:
            ask(front, store, store.get(each), rules, job.who)
    except LeaveError:
        return False
    return True


def _with(told: TurnedOut, answer: str, actual: str, title: str) -> TurnedOut:
    return TurnedOut(
        told.subject, told.cause, told.title, told.words, answer, actual, title, rules=told.rules
    )
