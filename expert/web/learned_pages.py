"""What a finished job knows of its store and the store does not, kept with one press each."""

from __future__ import annotations

from starlette.responses import Response

from expert.errors import ReadingError
from expert.sites.learned import Learned, sentence
from expert.store.store_errors import StoreError
from expert.web.job_pages import shown
from expert.web.live_jobs import AtWork
from expert.web.page_request import PageRequest
from expert.web.pages import go_to
from expert.web.service import Service


def learn(service: Service, ask: PageRequest) -> Response:
    """Keep for the store what was pressed: that value and no other, and only as it was shown."""
    jobs = service.jobs(ask)
    with jobs.at(ask.job, ask.person) as work:
        try:
            wanted = _shown_as(service, ask, work)
            if wanted is not None:
                done, who = work.opened, ask.person.name
                service.say(
                    ask, *jobs.desk.keep_learned(jobs.stores.here, done, work.session.picture,
                                                 wanted, who)
                )  # fmt: skip
        except (ReadingError, StoreError) as error:
            return shown(service, ask, work, status=422, wrong=str(error))
    return go_to(f"/jobs/{ask.job}")


def _shown_as(service: Service, ask: PageRequest, work: AtWork) -> Learned | None:
    """What a form shows, None where the store says it by now. Raises ReadingError."""
    if not work.session.finished:
        raise ReadingError("The job goes on; what it knows of its store is kept when it is done.")
    jobs = service.jobs(ask)
    offered = jobs.desk.learned(jobs.stores.here, work.opened, work.session.picture)
    found = next((each for each in offered if each.name == ask.text("name")), None)
    if found is None:
        service.say(ask, "The store says so already, or the job says otherwise now.")
        return None
    if sentence(found) != ask.text("shown"):
        raise ReadingError("The store was changed meanwhile; nothing was kept. Look again.")
    return found
