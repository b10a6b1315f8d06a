"""A server of pages in this process, on a store of its own, and a browser without scripts."""

from __future__ import annotations

import argparse
import html
import http.client
import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import uvicorn

from expert.cli.frame.main import main
from expert.cli.web.serve import make_service
from expert.places import shipped
from expert.web.app import make_app
from expert.web.roles import LEAD
from expert.web.route_table import WAYS
from expert.web.service import Service
from expert.web.ways import Way

DEMO = shipped("checklists") / "demo"


def done_of_demo(place: Path, name: str) -> None:
    """Walks a checkout of circuit A4 of the demo store by its kept answers, into a folder."""
    words = [
        "run", "hot-gas-defrost-checkout", "--site", str(DEMO / "site.yaml"), "--subject", "A4",
        "--answers", str(DEMO / f"{name}.answers.yaml"), "--who", "A. Sample",
        "--jobs", str(place), "--engine", "plain",
    ]  # fmt: skip
    assert main(words) == 0


def options(folder: Path, **more: object) -> argparse.Namespace:
    """The options of `rackwalk serve` for a store in a folder, with the demo store offered."""
    usual: dict[str, object] = {
        "jobs": folder, "rulebase": None, "engine": "plain", "units": "us", "who": "",
        "site": DEMO / "site.yaml", "role": LEAD, "name": [], "certificate": None, "key": None,
        "sign_in_header": None, "proxy": [], "people": None, "standing": {},
    }  # fmt: skip
    return argparse.Namespace(**{**usual, **more})


@dataclass
class Form:
    """A form of a page: where it goes, its fields as a browser would send them, its buttons."""

    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str, str]] = field(default_factory=list)  # name, value, action
    place: int = 0  # among the forms of its action

    def value(self, name: str) -> str:
        return next((value for key, value in self.fields if key == name), "")


class _Forms(HTMLParser):
    """Reads the forms of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._select = ""
        self._first: str | None = None
        self._chosen: str | None = None
        self._option: str | None = None
        self._wants = False

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        found = dict(attributes)
        name, value = found.get("name") or "", found.get("value")
        if tag == "form":
            self.forms.append(Form(found.get("action") or "", found.get("method") or "get"))
        if not self.forms:
            return
        form = self.forms[-1]
        if tag == "input" and name and found.get("type") != "file":
            ticked = found.get("type") not in ("checkbox", "radio") or "checked" in found
            if ticked:
                form.fields.append((name, value or ""))
        elif tag == "textarea":
            form.fields.append((name, ""))
        elif tag == "button":
            form.buttons.append((name, value or "", found.get("formaction") or ""))
        elif tag == "select":
            self._select, self._first, self._chosen = name, None, None
        elif tag == "option" and self._select:
            self._option, self._wants = value, "selected" in found
            if value is not None:
                self._picked(value)

    def handle_data(self, data: str) -> None:
        if self._select and data.strip() and self._option is None:
            self._picked(data.strip())

    def _picked(self, value: str) -> None:
        self._first = value if self._first is None else self._first
        if self._wants:
            self._chosen = value

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self._select:
            empty = "" if self._first is None else self._first
            chosen = self._chosen if self._chosen is not None else empty
            self.forms[-1].fields.append((self._select, chosen))
            self._select = ""


def forms_of(text: str) -> list[Form]:
    """Every form of a page."""
    parser = _Forms()
    parser.feed(text)
    return parser.forms


class Visitor:
    """A browser without scripts, with cookies of its own; `page` is the last page, `at` its path.

    `headers` go with every request.
    """

    def __init__(self, address: tuple[str, int], **headers: str) -> None:
        self.address = address
        self.cookies: dict[str, str] = {}
        self.headers = {name.replace("_", "-"): value for name, value in headers.items()}
        self.page = ""
        self.status = 0
        self.at = ""
        self.told: dict[str, str] = {}

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str) -> int:
        """One request, no redirect followed; the status."""
        host, port = self.address
        told = {
            "Host": f"localhost:{port}", "Accept": "text/html", **self.headers,
            **{name.replace("_", "-"): value for name, value in headers.items()},
        }  # fmt: skip
        if self.cookies:
            told["Cookie"] = "; ".join(f"{k}={v}" for k, v in self.cookies.items())
        connection = http.client.HTTPConnection(host, port, timeout=60)
        try:
            connection.request(method, path, body or None, told)
            answer = connection.getresponse()
            self.page = answer.read().decode("utf-8", "replace")
        finally:
            connection.close()
        self.status, self.at = answer.status, path
        self.told = {name.lower(): value for name, value in answer.getheaders()}
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.partition(";")[0]
                if "max-age=0" in value.lower():
                    del self.cookies[key]
        return self.status

    def go(self, path: str) -> str:
        """Opens a page and follows where it leads."""
        self.ask("GET", path)
        return self._followed()

    def send(self, path: str, fields: list[tuple[str, str]] | dict[str, str], **more: str) -> str:
        """Sends fields as a form does, and follows."""
        pairs = list(fields.items()) if isinstance(fields, dict) else fields
        kind = "application/x-www-form-urlencoded"
        self.ask("POST", path, urlencode(pairs).encode(), Content_Type=kind, **more)
        return self._followed()

    def _followed(self) -> str:
        for _ in range(3):
            if self.status not in (302, 303, 307):
                break
            self.ask("GET", self.told["location"])
        return self.page

    def submit(self, form: Form, button: tuple[str, str] | None = None, **typed: str) -> str:
        """Sends a form with some fields changed and perhaps a button pressed."""
        names = {name.replace("_", "-"): value for name, value in typed.items()}
        fields = [each for each in form.fields if each[0] not in names]
        fields += list(names.items())
        action = form.action
        if button is not None:
            found = [each for each in form.buttons if each[:2] == button]
            assert found, f"no button {button} on {self.at}: {form.buttons}"
            fields.append(button)
            action = found[0][2] or action
        return self.send(action, fields)

    def form(self, ending: str, number: int = 0) -> Form:
        """The form whose action ends so."""
        found = [each for each in forms_of(self.page) if each.action.endswith(ending)]
        assert len(found) > number, f"no form {ending} on {self.at}: {self.text()[:2000]}"
        return found[number]

    def text(self) -> str:
        """The page without its marks."""
        return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", self.page)).split())


@dataclass
class Running:
    """A server that answers; `app` is what it serves."""

    service: Service
    address: tuple[str, int]

    def visitor(self, name: str = "A. Sample", role: str = LEAD, company: str = "") -> Visitor:
        """Somebody who typed a code."""
        visitor = Visitor(self.address)
        code = self.service.pairing.new(role, company)
        visitor.go("/pair")
        visitor.submit(visitor.form("/pair"), code=code.shown, name=name)
        assert visitor.status == 200, visitor.text()
        return visitor


@contextmanager
def running(service: Service, ways: tuple[Way, ...] = WAYS, port: int = 0) -> Iterator[Running]:
    """A server of a service on a port, a free one for 0, in a thread."""
    config = uvicorn.Config(make_app(service, ways), log_config=None, lifespan="on", ws="none")
    server = uvicorn.Server(config)
    with socket.create_server(("127.0.0.1", port)) as listening:
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            until = time.monotonic() + 20
            while not server.started:
                assert thread.is_alive() and time.monotonic() < until, "the server did not start"
                time.sleep(0.01)
            yield Running(service, ("127.0.0.1", listening.getsockname()[1]))
        finally:
            server.should_exit = True
            thread.join(20)
            for company in service.companies.values():
                company.stores.close()  # what the test itself asked of them, in its own thread


@contextmanager
def served(folder: Path, **more: object) -> Iterator[Running]:
    """A server on a store in a folder."""
    with running(make_service(options(folder, **more))) as server:
        yield server


def begun(visitor: Any, checklist: str = "hot-gas-defrost-checkout", on: str = "A4") -> str:
    """A new job of the demo store; its id."""
    visitor.go(f"/begin?checklist={checklist}")
    site = visitor.form("/begin").value("site")
    visitor.go("/begin?" + urlencode({"site": site, "checklist": checklist}))
    visitor.submit(visitor.form("/begin", 1), ("subject", on))
    assert visitor.status == 200, visitor.text()
    return str(visitor.at).removeprefix("/jobs/")
