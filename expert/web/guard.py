"""Nobody comes in: every request passes here before anything of the program sees it."""

from __future__ import annotations

import hmac
import ipaddress
import re
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.requests import Request

from expert.web.page_request import NOBODY
from expert.web.roles import Person
from expert.web.service import Service
from expert.web.signed_in import SignIn, form_token
from expert.web.ways import OPEN, SIGNED_IN, Way

COOKIE, SECURE_COOKIE = "rackwalk", "__Host-rackwalk"
FORM_FIELD, FORM_HEADER = "form", "x-form"  # where a form or a script carries its token
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
# A report is a page by itself, with its own style and pictures inside and no script at all.
REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; sandbox allow-same-origin"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
    "x-frame-options": "DENY",
}
STRICT_TRANSPORT = {"strict-transport-security": "max-age=31536000"}
_PORT = re.compile(r":\d+$")


class RefusedRequest(Exception):
    """A request that goes no further, with what is said and the status of the answer."""

    def __init__(self, status: int, said: str, headers: Mapping[str, str] | None = None) -> None:
        self.status, self.said, self.headers = status, said, dict(headers or {})
        super().__init__(said)


@dataclass(frozen=True)
class Comer:
    """Who asks, from which address, with the token of the forms and the session, if any."""

    person: Person
    address: str
    token: str = ""
    visit: SignIn | None = None
    secure: bool = False

    @property
    def known(self) -> bool:
        """Whether somebody is signed in."""
        return self.person is not NOBODY

    @property
    def key(self) -> str:
        """What tells one visitor from another."""
        return self.visit.id if self.visit else f"{self.person.company}/{self.person.name}"


def comer_of(service: Service, request: Request) -> Comer:
    """Who asks. Raises RefusedRequest for a name of the server that is not its own."""
    _own_name(service, request)
    peer = request.client.host if request.client else ""
    if service.header is not None:
        return _by_header(service, request, peer)
    secure = service.secure
    token = request.cookies.get(SECURE_COOKIE if secure else COOKIE, "")
    visit = service.visits.of(token)
    if visit is None or visit.person.company not in service.companies:
        return Comer(NOBODY, peer, secure=secure)
    return Comer(visit.person, peer, form_token(token), visit, secure)


def let_through(service: Service, way: Way, comer: Comer) -> None:
    """Raises RefusedRequest where a way is asked too often or needs what the comer has not."""
    limit, key = (service.known, comer.key) if comer.known else (service.strangers, comer.address)
    if not limit.allows(key):
        raise RefusedRequest(429, "Too many requests; wait a moment.", {"retry-after": "5"})
    if way.needs == OPEN:
        return
    if not comer.known:
        raise RefusedRequest(401, "Sign in first.")
    if way.needs != SIGNED_IN and not comer.person.may(way.needs):
        raise RefusedRequest(403, f"This is not for the role '{comer.person.role}'.")


def from_own_page(request: Request) -> None:
    """Raises RefusedRequest for a form that another site sent."""
    origin = request.headers.get("origin")
    site = request.headers.get("sec-fetch-site")
    own = request.headers.get("host", "").lower()
    if origin is not None and urlsplit(origin).netloc.lower() != own:
        raise RefusedRequest(403, "This form came from another site and was not taken.")
    if site is not None and site not in ("same-origin", "none"):
        raise RefusedRequest(403, "This form came from another site and was not taken.")


def right_form(comer: Comer, carried: str) -> None:
    """Raises RefusedRequest where a form does not carry the token of its session."""
    if not comer.token or not hmac.compare_digest(comer.token.encode(), carried.encode()):
        raise RefusedRequest(
            403, "This page is from another session. Open the job again and enter it again."
        )


def _own_name(service: Service, request: Request) -> None:
    """A page elsewhere whose name leads here must not be taken for ours."""
    host = _PORT.sub("", request.headers.get("host", "")).strip("[]").lower()
    try:
        ipaddress.ip_address(host)
    except ValueError:
        if host not in service.hosts:
            raise RefusedRequest(
                400, "The server does not know this name; 'rackwalk serve --name' tells it."
            ) from None


def _by_header(service: Service, request: Request, peer: str) -> Comer:
    """Who the sign-in in front names; nobody where it does not, or another peer says so."""
    header = service.header
    assert header is not None
    if peer not in header.peers:
        raise RefusedRequest(403, "This server is asked through the company's sign-in only.")
    secure = service.secure or request.headers.get("x-forwarded-proto") == "https"
    forwarded = request.headers.get("x-forwarded-for", "").rpartition(",")[2].strip()
    named = request.headers.getlist(header.header)
    person = header.people.get(named[0].strip().lower()) if len(named) == 1 else None
    if person is None or person.company not in service.companies:
        return Comer(NOBODY, forwarded or peer, secure=secure)
    token = form_token(f"{service.secret} {person.company} {named[0].strip().lower()}")
    return Comer(person, forwarded or peer, token, secure=secure)
