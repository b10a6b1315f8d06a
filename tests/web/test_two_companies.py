"""Two companies on one server: whom the sign-in in front names, and what is whose."""

from __future__ import annotations

import http.client
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from knocking import CLOSED, MUCH, SECRET, knock
from small_server import Running, Visitor, begun, options, running

from expert.cli.web.serve import make_service
from expert.web.roles import LEAD, READ_ONLY
from expert.web.route_table import WAYS
from expert.web.service import HeaderSignIn


def two_companies(folder: Path) -> Path:
    path = folder / "people.yaml"
    path.write_text(
        """
companies:
  - {id: north, jobs: north}
  - {id: south, jobs: south}
people:
  - {name: A. Sample, signs in as: a@north.example, role: lead, company: north}
  - {name: B. Sample, signs in as: b@south.example, role: lead, company: south}
  - {name: R. Sample, signs in as: r@south.example, role: read only, company: south}
""",
        "utf-8",
    )
    return path


@pytest.fixture(scope="module")
def companies(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("companies")
    more = {"people": two_companies(folder), "sign_in_header": "Remote-User",
            "proxy": ["127.0.0.1"]}  # fmt: skip
    with running(make_service(options(folder, **more))) as one:
        one.service.known = one.service.strangers = MUCH
        yield one


def test_one_companys_job_is_no_others(companies: Running) -> None:
    north = Visitor(companies.address, Remote_User="A@north.example")
    south = Visitor(companies.address, Remote_User="b@south.example")
    job = begun(north)
    north.submit(north.form("/note"), text=SECRET)
    south.go("/another")
    token = south.form("/another").value("form")
    south.go("/")
    assert job not in south.page
    for way in WAYS:
        if "{job}" in way.path:
            knock(south, way, job, form=token, key="job-hazard", text="yes", reason="why not")
            assert south.status == 404, way
            assert SECRET not in south.page
    handed = json.dumps({"readings": [{"key": "rack-steady", "text": "yes"}]}).encode()
    south.ask("POST", f"/jobs/{job}/kept", handed, Content_Type="application/json", X_Form=token)
    assert south.status == 404
    assert begun(south) == job  # the same id in another store is another job
    south.go(f"/jobs/{job}/steps")
    assert SECRET not in south.page


def test_the_header_is_believed_from_the_sign_in_only(tmp_path: Path) -> None:
    more = {"people": two_companies(tmp_path), "sign_in_header": "Remote-User",
            "proxy": ["192.0.2.1"]}  # fmt: skip
    with running(make_service(options(tmp_path, **more))) as one:
        visitor = Visitor(one.address, Remote_User="a@north.example")
        for way in CLOSED:
            assert knock(visitor, way, "any") == 403, way


@pytest.mark.parametrize("named", ["", "c@north.example", "a@north.example,b@south.example"])
def test_whom_the_file_does_not_list_is_nobody(companies: Running, named: str) -> None:
    visitor = Visitor(companies.address, Remote_User=named)
    for way in CLOSED:
        assert knock(visitor, way, "any") in (303, 401), way
    visitor.go("/pair")
    assert "nobody has given you a role" in visitor.text()
    code = companies.service.pairing.new(LEAD, "north")  # codes let nobody in here
    visitor.send("/pair", {"code": code.text, "name": "X. Sample"})
    assert visitor.status == 403 and not visitor.cookies


def test_a_role_of_the_file_holds(companies: Running) -> None:
    visitor = Visitor(companies.address, Remote_User="r@south.example")
    visitor.go("/")
    assert f"R. Sample, {READ_ONLY}" in visitor.text()
    assert visitor.ask("GET", "/begin") == 403


def test_two_headers_of_one_name_are_nobody(companies: Running) -> None:
    assert isinstance(companies.service.header, HeaderSignIn)
    connection = http.client.HTTPConnection(*companies.address)
    connection.putrequest("GET", "/", skip_host=True)
    for name, value in (("Host", "localhost"), ("Remote-User", "a@north.example"),
                        ("Remote-User", "b@south.example")):  # fmt: skip
        connection.putheader(name, value)
    connection.endheaders()
    assert connection.getresponse().status in (303, 401)
    connection.close()
