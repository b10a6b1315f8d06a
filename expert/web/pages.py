"""Pages from templates; only this module knows Jinja2 here."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import jinja2
from starlette.responses import HTMLResponse, RedirectResponse, Response

from expert import __version__
from expert.inference.sentences import first_up
from expert.web.page_request import PageRequest
from expert.web.roles import AUDIT, DO, LOOK, PAIR, RECORDS

FOLDER = Path(__file__).parent
RIGHTS = {"DO": DO, "LOOK": LOOK, "RECORDS": RECORDS, "AUDIT": AUDIT, "PAIR": PAIR}


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(FOLDER / "templates"),
        undefined=jinja2.StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["first_up"] = first_up
    environment.filters["day"] = lambda at: at.astimezone().strftime("%Y-%m-%d")
    environment.filters["moment"] = lambda at: at.astimezone().strftime("%Y-%m-%d %H:%M")
    environment.globals.update(RIGHTS, version=__version__)
    return environment


def page(template: str, ask: PageRequest, status: int = 200, **shown: object) -> Response:
    """A template filled in for whoever asks."""
    found = _environment().get_template(f"{template}.html.j2")
    return HTMLResponse(found.render(ask=ask, person=ask.person, **shown), status)


def go_to(path: str) -> Response:
    """On to another page, so that a form is not sent again with it."""
    return RedirectResponse(path, 303)
