"""What is the same for everybody: style, script, and whether the server is there."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from starlette.responses import Response

from expert import __version__
from expert.web.page_request import PageRequest
from expert.web.pages import page
from expert.web.service import Service

FOLDER = Path(__file__).parent / "static"
MEDIA = {"style.css": "text/css", "script.js": "text/javascript"}
_KEPT = {"cache-control": "no-cache"}  # asked for again each time, so that a new one is seen


@cache
def _text(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


def static(service: Service, ask: PageRequest) -> Response:
    """One of a few files; no other name leads anywhere."""
    name = ask.path["name"]
    if name not in MEDIA:
        return page("message", ask, 404, title="Not here", says="There is no such page.")
    return Response(_text(name), media_type=MEDIA[name], headers=_KEPT)


def worker(service: Service, ask: PageRequest) -> Response:
    """The script that shows a page again where there is no connection; it changes with versions."""
    text = _text("worker.js").replace("VERSION", __version__)
    return Response(text, media_type="text/javascript", headers=_KEPT)


def alive(service: Service, ask: PageRequest) -> Response:
    """That the server is there."""
    return Response("yes", media_type="text/plain")
