"""What a person does at a job: answers, skips, notes, goes back, settles; each once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from starlette.responses import Response

from expert.errors import MovedOnError, ReadingError, UsageError
from expert.knowledge.where import ROOMS
from expert.procedure.active import Active
from expert.procedure.answered_twice import Twice, holds, second_answer, unsettled
from expert.procedure.answering import NeedsConfirmation
from expert.procedure.corrections import answer_of
from expert.procedure.entries import Entry
from expert.procedure.screens import DEPTHS, HAZARDS, STEP, Screen
from expert.records.turned_out import answer_in, unsaid
from expert.report.outcomes import draft_of
from expert.store.kept_known import carry_on
from expert.terminal.others import note_joined
from expert.terminal.step_view import StepView
from expert.web.job_pages import AskedBack, shown
from expert.web.live_jobs import AtWork
from expert.web.marks import mark_of
from expert.web.page_request import PageRequest, whole_number
from expert.web.pages import go_to
from expert.web.paragraphs import PAGE
from expert.web.service import Service
from expert.web.step_page import row_title, value_text

Does = Callable[[Service, PageRequest, AtWork], Response | None]
_TRIES = 3  # times that somebody else may be quicker before it is told


def _once(does: Does) -> Callable[[Service, PageRequest], Response]:
    """Do something with a job that is entered once, however often the form is sent.

    Where it gives no page of its own, the page of the job comes next. What is refused is told on
    the page as it stands then.
    """

    def action(service: Service, ask: PageRequest) -> Response:
        with service.jobs(ask).at(ask.job, ask.person) as work:
            has_joined(work)
            try:
                return _tried(does, service, ask, work) or go_to(f"/jobs/{ask.job}")
            except ReadingError as error:
                return shown(service, ask, work, status=422, wrong=str(error))

    return action


def has_joined(work: AtWork) -> None:
    """Raises UsageError for who has not said yet that the cautions others answered hold."""
    if work.comes_too and not work.session.finished:
        raise UsageError("Open the job first: its cautions are asked of you too.")


def join(service: Service, ask: PageRequest) -> Response:
    """Say that the cautions that others answered hold for oneself too."""
    with service.jobs(ask).at(ask.job, ask.person) as work:
        if cautions := work.comes_too:
            note_joined(work.session, cautions)
    return go_to(f"/jobs/{ask.job}")


def _tried(does: Does, service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    for left in range(_TRIES - 1, -1, -1):
        if not work.session.mark(mark_of(ask.text("once"))):
            return None  # it has arrived before
        try:
            before = work.session.finished
            answer = does(service, ask, work)
        except MovedOnError:
            work.session.catch_up()
            if not left:
                raise
            continue
        if work.session.finished and not before:
            jobs = service.jobs(ask)
            jobs.desk.finished(jobs.stores.here, work.opened)
        return answer
    raise AssertionError


@_once
def answer(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """The answer to what was asked when the page was made."""
    screen = work.session.screen
    keys = tuple(ask.form.get("key", ()))
    if screen is None or tuple(each.key for each in screen.parts) != keys:
        return _late(service, ask, work, keys)
    if screen.kind != STEP:
        _several(ask, work, screen)
        return None
    return _single(service, ask, work, screen.first)


def _single(service: Service, ask: PageRequest, work: AtWork, active: Active) -> Response | None:
    session, texts = work.session, work.texts
    if active.step.type == "adjust":
        session.adjust(*(ask.text(name) for name in ("what", "from", "to")))
        return None
    text = typed_at(ask, active)
    if active.step.type == "sign" and not text:
        raise ReadingError("Type your name; that signs for the job.")
    why, sure = ask.text("why"), bool(ask.text("sure"))
    early = "" if why else session.too_early(text)
    if early:
        said = session.runner.accept(session.picture, active, text, session.now(), sure=sure)
        question = said.question if isinstance(said, NeedsConfirmation) else ""
        says = f"{early} {question} Say why it is answered now, or wait.".replace("  ", " ")
        return shown(service, ask, work, question=_question(ask, text, says, early=True))
    before = texts.standing(StepView(session.picture, active, session.now(), PAGE))
    outcome = session.answer(text, sure=sure or bool(why), why=why)
    if isinstance(outcome, NeedsConfirmation):
        return shown(
            service, ask, work, question=_question(ask, outcome.text, outcome.question)
        )  # fmt: skip
    at = StepView(session.picture, active, session.now(), PAGE)
    service.say(ask, *filter(None, [outcome.message]), *texts.after(before, at))
    return None


def _question(ask: PageRequest, text: str, says: str, *, early: bool = False) -> AskedBack:
    fields = [("text", text), *(("key", key) for key in ask.form.get("key", ()))]
    return AskedBack(says, early, fields)


def typed_at(ask: PageRequest, active: Active) -> str:
    """The text that a form means, as it would be typed in a terminal."""
    text = value_text(ask.text("text"), minus=bool(ask.text("minus")), unit=ask.text("unit"))
    step_type, detail = active.step.type, ask.text("detail")
    if step_type == "members":
        return ", ".join(ask.form.get("member", ()))
    if step_type == "clock" and text:
        return text if text.startswith("at ") else f"{text} ago"
    if detail and step_type in ("caution", "open", "close"):
        return f"{text}: {detail}"
    return text


def _several(ask: PageRequest, work: AtWork, screen: Screen) -> None:
    ticked = [each for each in ask.form.get("tick", ()) if each.isdecimal()]
    if screen.kind == HAZARDS and not ticked:
        work.session.apart()
        return
    work.session.tick(" ".join(ticked) if len(screen.parts) > 9 else "".join(ticked))


def _late(
    service: Service, ask: PageRequest, work: AtWork, keys: tuple[str, ...]
) -> Response | None:
    """An answer to what is asked no more: kept beside what stands there, or said to be kept not."""
    session = work.session
    plan = {each.key: each for each in session.runner.plan(session.picture)}
    seen = whole_number(ask.text("seen"))
    key = keys[0] if keys else ""
    stands = session.picture.closed.get(key)
    if len(keys) != 1 or stands is None or key not in plan or stands.seq <= seen:
        service.say(ask, "The job stands elsewhere now; nothing of this was entered. Look again.")
        return None
    text = typed_at(ask, plan[key])
    if plan[key].step.type == "adjust":
        text = "; ".join(ask.text(name) for name in ("what", "from", "to"))
    title = row_title(work, plan[key])
    if same_answer(work, plan[key], stands, text):
        service.say(ask, f"{title}: {stands.who or 'somebody'} has entered the same meanwhile.")
        return None
    second(service, ask, work, key, title, text)
    return None


def second(
    service: Service, ask: PageRequest, work: AtWork, key: str, title: str, text: str
) -> None:  # fmt: skip
    """Keep a second answer beside the one that stands, and say so to whoever gave it."""
    stands = work.session.picture.closed[key]
    work.session.enter(second_answer(key, title, stands, text or "yes"))
    service.say(
        ask,
        f"{title} was answered meanwhile by {stands.who or 'somebody'}: {answer_of(stands)}. "
        f"Yours, {text or 'yes'}, is kept beside it; say below which holds.",
    )


def same_answer(work: AtWork, active: Active, stands: Entry, text: str) -> bool:
    """Whether a text says what stands at a step already."""
    runner, session = work.session.runner, work.session
    try:
        outcome = runner.answered(session.picture, active, text, session.now(), True)
    except ReadingError:
        return False
    if isinstance(outcome, NeedsConfirmation):
        return False
    names = ("value", "answer", "members", "name", "what", "from", "to")
    last = outcome.drafts[-1]
    return last.kind == stands.kind and all(
        last.data.get(name) == stands.data.get(name) for name in names
    )


@_once
def skip(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Leave the step out, the rest of a watch or of a member, with a reason."""
    _still_asked(ask, work)
    how = ask.text("how")
    work.session.skip(ask.text("reason"), rest=how == "rest", member=how == "member")
    service.say(ask, "Left out, with your reason in the record.")
    return None


@_once
def apart(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """PageRequest each of several by itself."""
    work.session.apart()
    return None


@_once
def back(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Reopen the step before."""
    _still_asked(ask, work)
    work.session.back()
    return None


@_once
def note(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Keep a note."""
    work.session.note(ask.text("text"))
    service.say(ask, "Noted.")
    return None


@_once
def change(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """PageRequest a closed step again; of a finished job with the reason."""
    why = ask.text("why")
    if work.session.finished and not why:
        raise ReadingError("Say in a few words why it is changed; it stands in the report.")
    work.session.reopen(ask.text("key"), why)
    return None


@_once
def close(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Close the job undone."""
    work.session.close(f"{ask.text('state')}: {ask.text('detail')}")
    service.say(ask, "What is open is still put back, and you sign.")
    return None


@_once
def lead(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Lead at another depth."""
    if ask.text("depth") in DEPTHS:
        work.session.lead(ask.text("depth"))
    return None


@_once
def settle(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Say which of two answers holds."""
    found = [
        each for each in unsettled(work.session.picture)
        if str(each.note.seq) == ask.text("note")
    ]  # fmt: skip
    if found and ask.text("holds") == "second":
        _second_holds(work, found[0])
    elif found:
        work.session.enter(holds(found[0]))
    return None


def _second_holds(work: AtWork, twice: Twice) -> None:
    """The second answer replaces the first, as a correction. Raises ReadingError where it is
    refused; then the step is asked again."""
    session = work.session
    session.reopen(twice.key, f"answered twice, {twice.second}")
    current = session.current
    if current is not None and current.key == twice.key:
        session.answer(twice.second, sure=True)
    else:
        session.take_at(twice.key, twice.second, sure=True)


@_once
def outcome(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Say what a finding of a finished job turned out to be. Raises ReadingError."""
    session = work.session
    asked = unsaid(session.picture.entries, work.job.subject) if session.finished else ()
    finding = next((each for each in asked if each.cause == ask.text("cause")), None)
    if finding is None:
        raise ReadingError("It has been said what that was; look again.")
    said = answer_in(ask.text("text"), finding, work.texts.rulebase)
    before = len(session.picture.entries)
    session.enter(draft_of(replace(said, how=ask.text("how"))))
    after = len(session.picture.entries)
    carry_on(service.jobs(ask).stores.here.database, work.job.id, before, after)
    service.say(ask, f"Kept. {said.what}.")
    return None


@_once
def stand(service: Service, ask: PageRequest, work: AtWork) -> Response | None:
    """Say where one is: what is asked is then what is done there, and others see it."""
    room = ask.text("room")
    work.session.resume([room] if room in ROOMS else [], beside=True)
    return None


def leave(service: Service, ask: PageRequest) -> Response:
    """Go away from a job; it goes on at the same step."""
    with service.jobs(ask).at(ask.job, ask.person) as work:
        if not work.session.finished:
            work.session.stop()
    return go_to("/")


def _still_asked(ask: PageRequest, work: AtWork) -> None:
    """Raises ReadingError where the page was made for another step."""
    screen = work.session.screen
    keys = tuple(each.key for each in screen.parts) if screen else ()
    if tuple(ask.form.get("key", ())) != keys:
        raise ReadingError("The job stands elsewhere now; nothing was changed. Look again.")
