"""Readings of a place in any order: from the table of a page, and handed over by a phone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from math import isfinite

from starlette.responses import JSONResponse, Response

from expert.errors import MovedOnError, ReadingError
from expert.inference.sentences import first_up
from expert.procedure.active import Active
from expert.procedure.answered_twice import second_answer
from expert.procedure.answering import NeedsConfirmation
from expert.terminal.step_view import StepView
from expert.web.job_actions import has_joined, same_answer
from expert.web.job_pages import PlaceRow, rows_of
from expert.web.live_jobs import AtWork
from expert.web.marks import mark_of
from expert.web.page_request import PageRequest, whole_number
from expert.web.pages import go_to, page
from expert.web.paragraphs import PAGE
from expert.web.service import Service
from expert.web.step_page import row_title, value_text

MOST_HANDED = 100  # readings in one go (own choice)
LONGEST_AWAY = timedelta(days=2)  # what a phone may have kept (own choice)
AT_ONCE = 5.0  # s between typing and arriving; the time of a reading is then that of its entry
ENTERED, ALREADY, ASKED, REFUSED, NOTED, TWICE = (
    "entered", "already", "question", "refused", "noted", "twice",
)  # fmt: skip
_TRIES = 3


def by_name(service: Service, ask: PageRequest) -> Response:
    """A reading typed with its name: 'head 215'."""
    text, sure = ask.text("text"), bool(ask.text("sure"))
    with service.jobs(ask).at(ask.job, ask.person) as work:
        has_joined(work)
        if work.session.mark(mark_of(ask.text("once"))):
            try:
                question, said = _named(work, text, sure)
            except ReadingError as error:
                question, said = "", str(error)
            if question:
                mark = mark_of(ask.text("once"))
                return page("sure", ask, job=work.job, question=question, text=text, mark=mark)
            service.say(ask, said)
    return go_to(f"/jobs/{ask.job}")


def _named(work: AtWork, text: str, sure: bool) -> tuple[str, str]:
    """A question that comes first, or what is said of a reading that was entered.

    In a search any reading may be named; it is then asked there.
    """
    session, current = work.session, work.session.current
    if current is not None and current.searched:
        try:
            outcome = session.answer(text, sure=sure)
        except ReadingError:
            pass
        else:
            if isinstance(outcome, NeedsConfirmation):
                return outcome.question, ""
            return "", outcome.message or "Entered."
    took = session.take(text, sure=sure)
    if took is None:
        near = session.nearest_reading(text)
        return "", f"'{text}' names no reading. Nothing was entered. {near}".rstrip()
    return took.question, took.message or f"{first_up(took.title)} is entered."


def table(service: Service, ask: PageRequest) -> Response:
    """The fields of a table that are filled in; what is asked or wrong comes up again."""
    with service.jobs(ask).at(ask.job, ask.person) as work:
        seen = whole_number(ask.text("seen"))
        left = list[PlaceRow]()
        has_joined(work)
        for number in range(1, MOST_HANDED + 1):
            key = ask.text(f"key-{number}")
            text = value_text(
                ask.text(f"text-{number}"), minus=bool(ask.text(f"minus-{number}")),
                unit=ask.text(f"unit-{number}"),
            )  # fmt: skip
            if not key or not text:
                continue
            handed = {"key": key, "text": text, "sure": bool(ask.text(f"sure-{number}"))}
            mark = mark_of(ask.text(f"once-{number}"))
            state, said = _taken(work, {**handed, "once": mark}, None, seen)
            if state in (ASKED, REFUSED):
                left += _again(work, key, ask, number, state, said)
            else:
                service.say(ask, *_told(work, state, said))
        if left:
            return page(
                "place", ask, 422, job=work.job, rows=left, seen=len(work.session.picture.entries)
            )
        return go_to(f"/jobs/{ask.job}")


def _again(
    work: AtWork, key: str, ask: PageRequest, number: int, state: str, said: str
) -> list[PlaceRow]:  # fmt: skip
    """The row of a reading with what was typed and what is to be said of it."""
    known = {each.key: each for each in rows_of(work)}
    row = known.get(key)
    if row is None:
        return []
    return [
        replace(
            row, typed=ask.text(f"text-{number}"), minus=bool(ask.text(f"minus-{number}")),
            question=said if state == ASKED else "", wrong=said if state == REFUSED else "",
            mark=mark_of(ask.text(f"once-{number}")),
        )
    ]  # fmt: skip


def hand_over(service: Service, ask: PageRequest) -> Response:
    """What a phone kept without a connection, in its order; what became of each.

    The document is {"now": TIME, "readings": [{"once", "key", "text", "at", "seen", "sure"}]}, with
    times of the phone's clock in milliseconds since 1970; `seen` is how many entries the page of
    the reading knew.
    """
    document = ask.document if isinstance(ask.document, dict) else {}
    listed = document.get("readings")
    readings = (
        [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []
    )
    sent = document.get("now")
    with service.jobs(ask).at(ask.job, ask.person) as work:
        became = []
        has_joined(work)
        for each in readings[:MOST_HANDED]:
            taken, seen = _when(work, each.get("at"), sent), each.get("seen")
            state, said = _taken(work, each, taken, seen if isinstance(seen, int) else 0)
            service.say(ask, *_told(work, state, said))
            became.append({"once": str(each.get("once", "")), "state": state, "said": said})
        entries = len(work.session.picture.entries)
    return JSONResponse({"became": became, "entries": entries})


def _when(work: AtWork, at: object, sent: object) -> datetime | None:
    """When something was read, by the age that it has on the phone's own clock."""
    if not isinstance(at, int | float) or not isinstance(sent, int | float):
        return None
    if not (isfinite(at) and isfinite(sent)):
        return None
    age = min(max(sent - at, 0) / 1000, LONGEST_AWAY.total_seconds())
    return work.session.now() - timedelta(seconds=age) if age > AT_ONCE else None


def _told(work: AtWork, state: str, said: str) -> list[str]:
    """What the next page of the job says of a reading: what it was taken as."""
    answers = (e for e in reversed(work.session.picture.entries) if e.kind == "answer")
    entry = next(answers, None)
    active = _step(work, entry.step) if entry is not None else None
    if state == ENTERED and entry is not None and active is not None:
        at = StepView(work.session.picture, active, work.session.now(), PAGE)
        told = work.texts.taken(row_title(work, active), entry, at)
        return [*told, *filter(None, [said])]
    return [said] if said and state not in (ASKED, REFUSED) else []


def _taken(
    work: AtWork, handed: Mapping[str, object], taken: datetime | None, seen: int
) -> tuple[str, str]:
    """What becomes of a reading for a key, and what is said of it."""
    key, text = str(handed.get("key", "")), str(handed.get("text", "")).strip()[:200]
    session = work.session
    for _ in range(_TRIES):
        if not session.mark(mark_of(str(handed.get("once", "")))):
            return ALREADY, ""
        try:
            return _enter(work, key, text, taken, seen, sure=bool(handed.get("sure")))
        except MovedOnError:
            session.catch_up()
        except ReadingError as error:
            return REFUSED, str(error)
    return REFUSED, "Somebody else is entering at the same time; it is tried again."


def _enter(
    work: AtWork, key: str, text: str, taken: datetime | None, seen: int, *, sure: bool
) -> tuple[str, str]:
    session = work.session
    active = _step(work, key)
    stands = session.picture.closed.get(key)
    if active is None:
        session.note(f"Read, but no longer asked: {text}")
        return NOTED, "This is no longer asked; it is kept as a note."
    title = row_title(work, active)
    if stands is not None and stands.seq > seen and not active.sample:
        if same_answer(work, active, stands, text):
            return ENTERED, f"{title}: {stands.who or 'somebody'} has entered the same meanwhile."
        session.enter(second_answer(key, title, stands, text))
        return TWICE, f"{title} was entered by {stands.who or 'somebody'} too; say which holds."
    took = session.take_at(key, text, sure=sure, taken=taken)
    if took.question:
        return ASKED, took.question
    return ENTERED if took.drafts and took.drafts[-1].kind == "answer" else NOTED, took.message


def _step(work: AtWork, key: str) -> Active | None:
    found = (each.active for each in work.session.open_now() if each.active.key == key)
    return next(found, None)
