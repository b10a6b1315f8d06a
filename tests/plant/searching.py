"""A guided search played on plants of the model: what is asked is answered by the plant."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from expert.errors import ReadingError
from expert.inference.evaluate import Evaluator
from expert.inference.evaluation_model import Reading
from expert.knowledge.model import Rulebase
from expert.knowledge.site import SiteValue, Subject
from expert.plant.cases import Case
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.checklist import Checklist
from expert.procedure.log import NothingKept
from expert.procedure.runner import runner_for
from expert.procedure.search import TYPE, leading
from expert.procedure.session import Session

MOST = 80


@dataclass
class SearchPlayed:
    """How a search went: the readings it asked, those that could not be had, what it ended with."""

    asked: list[str]
    skipped: list[str]
    leading: str
    first: str
    session: Session


def session_on(
    case: Case, checklist: Checklist, rulebase: Rulebase, kind: str = "circuit"
) -> Session:
    """A checklist on a plant: on what the call looks at, a circuit if it is not said otherwise."""
    facts = {"application": case.application, "refrigerant": case.refrigerant,
             "case_type": case.case_type, "defrost": case.defrost}  # fmt: skip
    papers = {
        name: SiteValue(name, value, str(value))
        for name, value in case.readings.items()
        if name in rulebase.quantities and rulebase.quantities[name].given
        and not isinstance(value, tuple)
    }  # fmt: skip
    subject = Subject("call", "a call", kind, "R", facts, round(case.altitude, -2), papers,
                      has=case.has)  # fmt: skip
    return session_of(subject, checklist, rulebase)


def session_of(subject: Subject, checklist: Checklist, rulebase: Rulebase) -> Session:
    """A search on a subject."""
    evaluator = Evaluator(rulebase, subject, backend="plain")
    runner = runner_for(checklist, evaluator)
    return Session(
        runner, NothingKept(), "job", now=lambda: datetime(2026, 3, 14, 8, 0, tzinfo=UTC)
    )


def play(
    session: Session, readings: dict[str, tuple[Reading, ...]], complaint: str
) -> SearchPlayed:  # fmt: skip
    """Answers from the readings until the search ends; what is not among them is skipped."""
    asked: list[str] = []
    skipped: list[str] = []
    while (active := session.current) is not None and len(asked) + len(skipped) < MOST:
        if active.step.type == TYPE:
            break
        if active.step.type == "caution":
            session.answer("yes")
        elif active.quantity == "complaint":
            session.answer(complaint)
        elif found := readings.get(active.quantity):
            try:
                outcome = session.answer(found[-1].text)
                if isinstance(outcome, NeedsConfirmation):
                    session.answer(found[-1].text, sure=True)
                asked.append(active.quantity)
            except ReadingError:
                session.skip("refused here")
                skipped.append(active.quantity)
        else:
            session.skip("not available here")
            skipped.append(active.quantity)
    found_now = session.evaluation()
    clear = leading(found_now, session.runner.rulebase)
    first = next(iter(found_now.findings), None)
    return SearchPlayed(
        asked, skipped, clear.cause.id if clear else "", first.cause.id if first else "", session
    )
