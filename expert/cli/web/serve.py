"""`rackwalk serve`: jobs on a phone's browser, from this machine or a company's server."""

from __future__ import annotations

import argparse
import os
import secrets
import socket
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, add_units, say
from expert.cli.frame.options import add_place, add_site

if TYPE_CHECKING:
    from expert.cli.web.companies import Companies
    from expert.web.desk import Desk
    from expert.web.service import HeaderSignIn, Service

HERE, PORT = "127.0.0.1", 8437  # the port: own choice
DESCRIPTION = """\
Serves the jobs to browsers: a phone at the case, a laptop in the motor room, the office. It listens
on this machine only unless --listen says otherwise. A phone is let in by the code that is shown
here, good once and for ten minutes; Enter shows another. Several people may be at one job and see
what each other enters.

Beyond this machine everybody on the network can read along unless a certificate is given, and a
phone keeps its page through a reload without a connection only then. On a company's server the
company's own sign-in stands in front: --sign-in-header names the header in which it says who
comes, --proxy from where it is believed, --people who has which role. Ctrl-C ends it."""
EXAMPLES = """\
  rackwalk serve
  rackwalk serve --listen 0.0.0.0 --certificate laptop.pem --key laptop.key
  rackwalk serve --sign-in-header Remote-User --proxy 127.0.0.1 --people people.yaml"""
_MISSING = "Serving pages needs more than is installed: pip install 'rackwalk[web]'."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument(
        "--listen", default=HERE, metavar="ADDRESS",
        help=f"address to listen on (default: {HERE}, this machine only; 0.0.0.0 is all networks)",
    )  # fmt: skip
    parser.add_argument("--port", type=int, default=PORT, help=f"port (default: {PORT})")
    parser.add_argument(
        "--name", action="append", default=[], metavar="HOST",
        help="a name under which this server is asked, besides its addresses",
    )  # fmt: skip
    parser.add_argument(
        "--role", default="lead", metavar="ROLE",
        help="what the code shown here lets in as: technician, lead, office, read-only "
        "(default: lead)",
    )  # fmt: skip
    parser.add_argument("--certificate", type=Path, metavar="FILE", help="TLS certificate, PEM")
    parser.add_argument("--key", type=Path, metavar="FILE", help="its key, PEM")
    parser.add_argument(
        "--sign-in-header", metavar="HEADER",
        help="header in which the company's sign-in names the person",
    )  # fmt: skip
    parser.add_argument(
        "--proxy", action="append", default=[], metavar="ADDRESS",
        help="address of the company's sign-in; from others the header is not believed",
    )  # fmt: skip
    parser.add_argument(
        "--people", type=Path, metavar="FILE", help="who has which role, in which company (YAML)"
    )
    add_site(parser)
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when it was ended with Ctrl-C."""
    from expert.errors import UsageError

    _check(options)
    if options.engine == "auto":  # the plain one may be asked by several threads at once
        options.engine = "plain"
    try:
        from expert.web.app import make_app
        from expert.web.serving import bound, prepared, serve
    except ImportError:
        raise UsageError(_MISSING) from None
    service = make_service(options)
    # before an address is told and a code is given out that would lead nowhere
    server = prepared(make_app(service), certificate=options.certificate, key=options.key)
    listening = bound(options.listen, options.port)
    try:
        _told_where(options, listening)
        if service.header is None:
            _show_codes(service, options.role)
        sys.stdout.flush()
        serve(server, listening)
    except KeyboardInterrupt:
        pass
    finally:
        listening.close()
    say("Ended; all that was entered is kept.")
    return 0


def _check(options: argparse.Namespace) -> None:
    """Raises UsageError for options that do not go together."""
    from expert.errors import UsageError

    if bool(options.certificate) != bool(options.key):
        raise UsageError("--certificate and --key go together.")
    if not 0 <= options.port <= 65535:
        raise UsageError("--port is a number from 1 to 65535, or 0 for one that is free.")
    by_header = [options.sign_in_header, options.proxy, options.people]
    if any(by_header) and not all(by_header):
        raise UsageError("--sign-in-header, --proxy and --people go together.")


def make_service(options: argparse.Namespace) -> Service:
    """The service of the options: one company by a code, or those of a file by a header."""
    from expert.cli.web.desk_of_store import StoreDesk
    from expert.store.paths import job_place, packs_beside
    from expert.web.live_jobs import LiveJobs
    from expert.web.roles import role_named
    from expert.web.service import Service
    from expert.web.signed_in import FILE, SignedIn

    options.role = role_named(options.role)
    desks: dict[str, Desk] = {"": StoreDesk(options)}
    header: HeaderSignIn | None = None
    if options.people:
        from expert.cli.web.companies import read_companies

        companies = read_companies(options.people)
        desks = {name: StoreDesk(_of_company(options, companies, name)) for name in companies.jobs}
        header = _header(options, companies)
    folder = packs_beside(job_place(options.jobs))
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    hosts = {"localhost", *(each.lower() for each in options.name)}
    return Service(
        {name: LiveJobs(desk) for name, desk in desks.items()}, SignedIn(folder / FILE),
        hosts=frozenset(hosts), header=header, secure=options.certificate is not None,
        secret=_secret(folder / "web-secret"),
    )  # fmt: skip


def _header(options: argparse.Namespace, companies: Companies) -> HeaderSignIn:
    from expert.web.service import HeaderSignIn

    return HeaderSignIn(
        options.sign_in_header.lower(), frozenset(options.proxy), companies.people
    )  # fmt: skip


def _of_company(
    options: argparse.Namespace, companies: Companies, name: str
) -> argparse.Namespace:  # fmt: skip
    """The options with the jobs of a company, and its pack where it has one."""
    own: dict[str, object] = {"jobs": companies.jobs[name]}
    if name in companies.packs:
        own["rulebase"] = companies.packs[name]
    return argparse.Namespace(**{**vars(options), **own})


def _secret(path: Path) -> str:
    """What the forms of a sign-in in front hang on, the same after a restart."""
    try:
        found = path.read_text(encoding="ascii").strip()
        if len(found) == 64:
            return found
    except (OSError, UnicodeError):
        pass
    made = secrets.token_hex(32)
    try:
        path.unlink(missing_ok=True)
        owned = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(owned, "w", encoding="ascii") as file:
            file.write(made)
    except OSError:
        pass  # then pages that are open at a restart have to be opened again
    return made


def _told_where(options: argparse.Namespace, listening: socket.socket) -> None:
    port = listening.getsockname()[1]
    scheme = "https" if options.certificate else "http"
    hosts = [*options.name] or [_address(options.listen)]
    for host in hosts:
        shown = f"[{host}]" if ":" in host else host
        say(f"Open in a browser: {scheme}://{shown}:{port}")
    if not options.certificate and not options.proxy and not _only_here(options.listen):
        say(
            "Without a certificate everybody on this network can read along; use it on a network "
            "of your own."
        )
    say("Ctrl-C ends it; all that is entered is kept at once.")


def _only_here(address: str) -> bool:
    return address.startswith("127.") or address in ("::1", "localhost")


def _address(listen: str) -> str:
    """The address under which others reach this machine, where it listens on all."""
    if listen not in ("0.0.0.0", "::"):  # noqa: S104 - compared, not bound
        return listen
    family, far = (
        (socket.AF_INET6, "2001:db8::1") if ":" in listen else (socket.AF_INET, "192.0.2.1")
    )  # addresses of RFC 3849 and RFC 5737; nothing is sent
    with socket.socket(family, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect((far, 9))
            return str(asking.getsockname()[0])
        except OSError:
            return listen


def _show_codes(service: Service, role: str) -> None:
    """A code now, and another one each time Enter is pressed where a person sits."""

    def show() -> None:
        say(f"Code for a phone, good once and for ten minutes: {service.pairing.new(role).shown}")
        sys.stdout.flush()

    show()
    if sys.stdin is not None and sys.stdin.isatty():
        say("Enter shows another code.")
        threading.Thread(target=_on_enter, args=(show,), daemon=True).start()


def _on_enter(show: Callable[[], None]) -> None:
    while sys.stdin.readline():
        show()
