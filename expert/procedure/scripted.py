"""The runner driven by an answers file instead of a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from expert.errors import ReadingError
from expert.procedure.active import Active
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.answers import Answers, Photos, Scripted
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.session import Session
from expert.units.kinds import Kind
from expert.units.parse import parse_measure

# Nothing is asked of the person here, so a file need not answer them.
ANSWERED_BY_THEMSELVES = ("show", "think", "clock", "search")


@dataclass(frozen=True)
class Played:
    """A step that was answered from the file; `question` is set where the value is unusual."""

    active: Active
    text: str
    question: str = ""


def play(session: Session, answers: Answers) -> Iterator[Played]:
    """Answers step after step until the checklist is finished, and says each one.

    An unusual value is taken as it is written, with its question handed on. Raises ReadingError
    with step, place and what was expected at the first answer that is missing or refused; what
    was entered before stays.
    """
    notes, photos = dict(answers.notes), dict(answers.photos)
    answers.check_searches(session.runner.rulebase.quantities)
    while (active := session.current) is not None:
        if note := notes.pop(active.step.id, ""):
            session.note(note)
        if listed := photos.pop(active.step.id, None):
            _enter_photos(session, listed)
        found = answers.find(active, _no(session, active))
        if active.searched:
            found = answers.in_search(active, session.picture.closed)
        if found is None and _by_itself(active):
            found = Scripted(answers.place, "")
        if found is None:
            where = _name(session, active)
            if active.step.type == CLOSE:
                where = "under 'close:', how the job ends"
            if item := session.runner.item(active):
                where = f"under 'open items:', '{item.key}' ({item.text})"
            raise ReadingError(
                f"{answers.missing_at(active)}: {where} has no answer. "
                f"{session.runner.expected(active)}"
            )
        try:
            question = _enter(session, active, found)
        except ReadingError as error:
            raise ReadingError(f"{found.place}: {_name(session, active)}: {error}") from None
        yield Played(active, _shown(found), question)
    for note in notes.values():
        session.note(note)
    for listed in photos.values():
        _enter_photos(session, listed)


def _enter_photos(session: Session, listed: Photos) -> None:
    try:
        session.photo(listed.files, listed.caption, listed.folder)
    except ReadingError as error:
        raise ReadingError(f"{listed.place}: {error}") from None


def _enter(session: Session, active: Active, found: Scripted) -> str:
    """Enters one answer; gives the second question where there was one."""
    if found.skip is not None:
        session.skip(found.skip, rest=found.rest, member=found.member)
        return ""
    if found.adjust is not None:
        session.adjust(*found.adjust)
        return ""
    text = found.text or ""
    if not text.strip() and not _by_itself(active):
        raise ReadingError(f"Nothing is written. {session.runner.expected(active)}")
    if active.step.type == "stop":
        raise ReadingError(f"It does not stand so. Write {{skip: why}}: {active.step.text}")
    minute = _minute(found)
    outcome = session.answer(text, minute=minute)
    question = ""
    if isinstance(outcome, NeedsConfirmation):
        question = outcome.question
        outcome = session.answer(text, sure=True, minute=minute)
    now = session.current
    asked_again = now is not None and now.key == active.key
    if not isinstance(outcome, NeedsConfirmation) and outcome.message and asked_again:
        raise ReadingError(outcome.message)
    return question


def _by_itself(active: Active) -> bool:
    """Whether a file need not answer a step: nothing is asked there, or it is passed over."""
    return active.step.type in ANSWERED_BY_THEMSELVES or bool(active.not_for)


def _minute(found: Scripted) -> float | None:
    if not found.minute:
        return None
    return parse_measure(found.minute, Kind.DURATION).value / 60


def _no(session: Session, active: Active) -> str:
    """The answer that ends a loop: the first choice that does not go on."""
    quantity = session.runner.rulebase.quantities.get(active.quantity)
    repeat = active.phase.repeat
    if quantity is None or repeat is None:
        return ""
    return next((phrase for phrase in quantity.choices if phrase != repeat.answer), "")


def _name(session: Session, active: Active) -> str:
    """The step as a reader of the file knows it: "step 'id' (title)"."""
    quantity = session.runner.rulebase.quantities.get(active.quantity)
    where = f", sample {active.sample}" if active.sample else ""
    where += f", round {active.turn}" if active.turn else ""
    where += f", {active.subject}" if active.subject else ""
    title = quantity.title if quantity else active.step.say or active.step.text
    return f"step '{active.step.id}'{where} ({title})"


def _shown(found: Scripted) -> str:
    if found.skip is not None:
        return f"skip: {found.skip}"
    return "; ".join(found.adjust) if found.adjust else found.text or ""
