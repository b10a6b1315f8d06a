"""An address of the server, with what one needs to go there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from starlette.responses import Response

from expert.web.page_request import PageRequest
from expert.web.service import Service

OPEN, SIGNED_IN = "open", "signed in"  # what a way can need besides a right
SMALL, LARGE = 256_000, 40_000_000  # bytes of a request: forms, and several photos (own choice)
Handler = Callable[[Service, PageRequest], Response]


@dataclass(frozen=True)
class Way:
    """An address with what one needs to go there: a right, SIGNED_IN, or OPEN for everybody."""

    path: str
    method: str
    needs: str
    handler: Handler
    body: int = SMALL
