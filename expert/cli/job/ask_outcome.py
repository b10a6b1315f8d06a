"""Asking what a finding turned out to be, and keeping the answer with the job it belongs to."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from expert.errors import ReadingError
from expert.knowledge.model import Rulebase
from expert.procedure.entries import Entry
from expert.records.turned_out import FORM, answer_in, unsaid
from expert.report.outcomes import KIND, TurnedOut, draft_of
from expert.report.told import ToldFinding
from expert.store.find_jobs import last_finished
from expert.store.job_row import Job
from expert.store.jobs import JobStore
from expert.store.kept_known import carry_on
from expert.terminal.front import Front, LeaveError, Question

_BACK = "b"


def keep_outcome(store: JobStore, job: Job, outcome: TurnedOut, who: str) -> None:
    """Keep it as an entry of its job. Raises JobBusyError or StoreError."""
    draft = draft_of(outcome)
    seq = store.get(job.id).entries + 1
    entry = Entry(seq, datetime.now(UTC), KIND, draft.step, dict(draft.data), who)
    store.append(job.id, entry)
    carry_on(store.database, job.id, seq - 1, seq)


def ask(front: Front, store: JobStore, job: Job, rules: Rulebase, who: str) -> None:
    """Ask of each finding of a job; Enter leaves it open for the next time."""
    layout = front.layout
    for finding in unsaid(store.entries(job.id), job.subject):
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
