"""Coming in and going out: the code of a phone, signing out, letting another phone in."""

from __future__ import annotations

from starlette.responses import Response

from expert.errors import UsageError
from expert.web.guard import COOKIE, SECURE_COOKIE
from expert.web.page_request import PageRequest
from expert.web.pages import go_to, page
from expert.web.pairing import GOOD_FOR
from expert.web.roles import ROLES, TECHNICIAN, Person, name_of, role_named
from expert.web.service import Service
from expert.web.signed_in import LONGEST


def pair_page(service: Service, ask: PageRequest) -> Response:
    """Where the code is typed; with a sign-in in front, what is to be said instead."""
    if ask.person.name:
        return go_to("/")
    return page("pair", ask, by_header=service.header is not None, said="", name="")


def pair(service: Service, ask: PageRequest) -> Response:
    """Sign in by a code and a name."""
    name = name_of(ask.text("name"))
    if service.header is not None:
        return page("pair", ask, 403, by_header=True, said="", name="")
    if service.pairing.wait(ask.address):
        said = "Too many wrong codes. Wait five minutes."
        return page("pair", ask, 429, by_header=False, said=said, name=name)
    if not name:
        said = "Type your name; it stands in every entry you make."
        return page("pair", ask, 400, by_header=False, said=said, name="")
    code = service.pairing.use(ask.text("code"), ask.address)
    if code is None:
        said = "This is no code, or it is too old. The code is shown where the server runs."
        return page("pair", ask, 403, by_header=False, said=said, name=name)
    token = service.visits.begin(Person(name, code.role, code.company))
    answer = go_to("/")
    answer.set_cookie(
        SECURE_COOKIE if ask.secure else COOKIE, token, max_age=int(LONGEST), path="/",
        secure=ask.secure, httponly=True, samesite="lax",
    )  # fmt: skip
    return answer


def sign_out(service: Service, ask: PageRequest) -> Response:
    """End the session."""
    if (visit := service.visits.by_id(ask.visit)) is not None:
        service.visits.end(visit)
    answer = go_to("/pair")
    answer.delete_cookie(
        SECURE_COOKIE if ask.secure else COOKIE, path="/", secure=ask.secure, httponly=True,
        samesite="lax",
    )  # fmt: skip
    answer.headers["clear-site-data"] = '"cache"'
    return answer


def another(service: Service, ask: PageRequest) -> Response:
    """Where a code for another phone is made."""
    return page("another", ask, roles=list(ROLES), chosen=TECHNICIAN, code=None, minutes=0)


def new_code(service: Service, ask: PageRequest) -> Response:
    """A code for another phone, with the role that was chosen."""
    if service.header is not None:
        raise UsageError("Here everybody signs in with the company's sign-in.")
    role = role_named(ask.text("role"))
    code = service.pairing.new(role, ask.person.company)
    minutes = int(GOOD_FOR // 60)
    return page("another", ask, roles=list(ROLES), chosen=role, code=code, minutes=minutes)
