"""What those try who must not come in: every closed way of the table."""

from __future__ import annotations

from urllib.parse import urlencode

from small_server import Visitor

from expert.web.limits import RateLimit
from expert.web.route_table import WAYS
from expert.web.ways import OPEN, Way

SECRET = "a note that only its own company may read"
MUCH = RateLimit(1e9, 1e9)
CLOSED = [way for way in WAYS if way.needs != OPEN]


def path_of(way: Way, job: str) -> str:
    named = {"{job}": job, "{view}": "technical", "{number}": "3", "{name}": "style.css"}
    path = way.path
    for name, value in named.items():
        path = path.replace(name, value)
    return path


def knock(visitor: Visitor, way: Way, job: str, **fields: str) -> int:
    """Asks for a way as a page would, and follows nowhere."""
    body = urlencode({"once": "0123456789", **fields}).encode() if way.method == "POST" else b""
    kind = {"Content_Type": "application/x-www-form-urlencoded"} if body else {}
    return visitor.ask(way.method, path_of(way, job), body, **kind)
