"""The pages of one job: the step that is asked, readings of a place, what we think, the list."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from starlette.responses import HTMLResponse, JSONResponse, Response

from expert.inference.sentences import first_up
from expert.knowledge.where import ROOMS
from expert.procedure.active import Active
from expert.procedure.answered_twice import unsettled
from expert.procedure.closing import STATES, in_words
from expert.procedure.open_now import Offer
from expert.procedure.screens import DEPTHS
from expert.records.turned_out import unsaid
from expert.report.views import VIEWS
from expert.sites.learned import sentence
from expert.terminal.others import waiting_lines
from expert.terminal.step_view import StepView
from expert.terminal.values import Values
from expert.web.guard import REPORT_POLICY
from expert.web.live_jobs import AtWork
from expert.web.marks import new_mark
from expert.web.page_request import PageRequest, whole_number
from expert.web.pages import go_to, page
from expert.web.paragraphs import PAGE
from expert.web.roles import DO
from expert.web.said_by_others import said_by_others
from expert.web.service import Service
from expert.web.step_page import (
    Blank,
    blank_of,
    closed_steps,
    place_rows,
    row_title,
    step_page,
)


@dataclass(frozen=True)
class PlaceRow:
    """A reading of a place, as a row of its table."""

    key: str
    title: str
    where: str
    normal: str
    blank: Blank
    mark: str
    series: bool = False
    typed: str = ""
    minus: bool = False
    question: str = ""
    wrong: str = ""


@dataclass(frozen=True)
class AskedBack:
    """What is asked before an answer is taken: whether it is meant so, or why so early."""

    says: str
    early: bool = False
    fields: Sequence[tuple[str, str]] = field(default_factory=list)


def job_page(service: Service, ask: PageRequest) -> Response:
    """The step that is asked now; of a finished job what it came to.

    Who comes to a job of others says first whether the cautions they answered hold here too.
    """
    with service.jobs(ask).at(ask.job, ask.person) as work:
        if ask.person.may(DO) and not work.session.finished and (cautions := work.comes_too):
            return page("join", ask, job=work.job, cautions=cautions, mark=new_mark())
        return shown(service, ask, work)


def shown(
    service: Service, ask: PageRequest, work: AtWork, *, status: int = 200, wrong: str = "",
    question: AskedBack | None = None,
) -> Response:  # fmt: skip
    """The page of a job as it stands, perhaps with what was wrong with the last answer."""
    session = work.session
    screen = session.screen
    common = {
        "job": work.job, "subject": session.runner.subject, "checklist": session.runner.checklist,
        "seen": len(session.picture.entries), "said": service.said(ask), "mark": new_mark(),
        "twice": [(each, _twice_title(work, each.key)) for each in unsettled(session.picture)],
        "changed": work.opened.changed, "opened": session.picture.still_open,
    }  # fmt: skip
    if screen is None and not session.finished:
        lines = waiting_lines(session, PAGE)
        return page(
            "waits", ask, status, lines=lines, rows=rows_of(work), rooms=ROOMS, at=session.at,
            wrong=wrong, **common,
        )  # fmt: skip
    if screen is None:
        lines = work.texts.ending(session.picture, PAGE)
        closed = in_words(session.picture.closed_as)
        asked = unsaid(session.picture.entries, work.job.subject)
        jobs, does = service.jobs(ask), ask.person.may(DO)
        learned = jobs.desk.learned(jobs.stores.here, work.opened, session.picture) if does else ()
        return page(
            "finished", ask, status, lines=lines, closed=closed, views=VIEWS, wrong=wrong,
            asked=asked if does else (), **common,
            learned=[(each.name, sentence(each), bool(each.was)) for each in learned],
        )  # fmt: skip
    step = step_page(work, screen)
    others = [each for each in rows_of(work) if each.key != step.key]
    return page(
        "job", ask, status, step=step, wrong=wrong, question=question, rows=others,
        depth=session.depth, depths=DEPTHS, states=tuple(STATES.items()), rooms=ROOMS,
        at=session.at, **common,
    )  # fmt: skip


def rows_of(work: AtWork) -> list[PlaceRow]:
    """The readings of the place where the checklist stands, with a field each."""
    return [_row(work, offer) for offer in place_rows(work)]


def _row(work: AtWork, offer: Offer) -> PlaceRow:
    active = offer.active
    quantity = work.texts.rulebase.quantities[active.quantity]
    limits = work.opened.evaluator.member(active.subject).limits
    values = Values(work.texts.rulebase, limits, work.session.runner.system)
    return PlaceRow(
        active.key, row_title(work, active), first_up(quantity.where), values.expected(quantity),
        blank_of(work, active), new_mark(), bool(active.sample),
    )  # fmt: skip


def think_page(service: Service, ask: PageRequest) -> Response:
    """What we think so far: what leads, and the whole of it."""
    with service.jobs(ask).at(ask.job, ask.person) as work:
        session = work.session
        plan = session.runner.plan(session.picture)
        active = session.current or (plan[-1] if plan else None)
        short = [] if active is None else _thinking(work, active, short=True)
        whole = [] if active is None else _thinking(work, active, short=False)
        return page("think", ask, job=work.job, short=short, whole=whole)


def _thinking(work: AtWork, active: Active, *, short: bool) -> list[str]:
    at = StepView(work.session.picture, active, work.session.now(), PAGE)
    return work.texts.thinking(at, short=short, everything=not short)


def steps_page(service: Service, ask: PageRequest) -> Response:
    """Every closed step, each of which can be changed."""
    with service.jobs(ask).at(ask.job, ask.person) as work:
        finished, steps = work.session.finished, closed_steps(work)
        return page(
            "steps", ask, job=work.job, phases=steps, finished=finished, mark=new_mark()
        )  # fmt: skip


def since(service: Service, ask: PageRequest) -> Response:
    """How many entries a job has now, and what others entered after so many, for a script."""
    jobs = service.jobs(ask)
    seen = whole_number(ask.wanted("seen"))
    now = jobs.entries(ask.job)
    if now <= seen:
        return JSONResponse({"entries": now, "said": []})
    with jobs.at(ask.job, ask.person) as work:
        return JSONResponse(
            {
                "entries": len(work.session.picture.entries),
                "said": said_by_others(work, ask.person.name, seen),
            }
        )


def report_page(service: Service, ask: PageRequest) -> Response:
    """One of the views of a job, as a page by itself."""
    jobs = service.jobs(ask)
    view = ask.path["view"]
    if view not in VIEWS:
        return page("message", ask, 404, title="Not here", says=f"There is no view '{view}'.")
    text = jobs.desk.report(jobs.stores.here, jobs.job(ask.job), view)
    return HTMLResponse(text, headers={"content-security-policy": REPORT_POLICY})


def begin_page(service: Service, ask: PageRequest) -> Response:
    """A new job: at which store, by which checklist, then on what."""
    jobs = service.jobs(ask)
    sites, checklists = jobs.desk.sites(jobs.stores.here), jobs.desk.checklists()
    site, checklist = sites.get(ask.wanted("site")), checklists.get(ask.wanted("checklist"))
    fitting = jobs.desk.fitting(checklist, site) if site and checklist else ()
    return page(
        "begin", ask, sites=sites, checklists=checklists.values(), site=site,
        checklist=checklist, fitting=fitting, mark=new_mark(),
    )  # fmt: skip


def begin(service: Service, ask: PageRequest) -> Response:
    """Begin the job that was asked for."""
    jobs = service.jobs(ask)
    sites, checklists = jobs.desk.sites(jobs.stores.here), jobs.desk.checklists()
    site, checklist = sites.get(ask.text("site")), checklists.get(ask.text("checklist"))
    if site is None or checklist is None:
        says = "Choose a store and a checklist."
        return page("message", ask, 400, title="Not begun", says=says)
    made = service.begun(
        ask,
        ask.text("once"),
        lambda: jobs.desk.begin(
            jobs.stores.here, checklist.id, site, ask.text("subject"), ask.person.name
        ),
    )
    return go_to(f"/jobs/{made}")


def _twice_title(work: AtWork, key: str) -> str:
    found = [
        each for each in work.session.runner.plan(work.session.picture) if each.key == key
    ]  # fmt: skip
    return row_title(work, found[0]) if found else key
