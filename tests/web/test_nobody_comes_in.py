"""Every way of the table is tried by people who must not come in; a new way cannot be forgotten."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from knocking import CLOSED, MUCH, SECRET, knock, path_of
from small_server import DEMO, Running, Visitor, begun, served

from expert.procedure.entries import Entry
from expert.web.guard import POLICY
from expert.web.limits import RateLimit
from expert.web.pairing import WRONG_EACH
from expert.web.roles import LEAD, RIGHTS, ROLES, TECHNICIAN, Person
from expert.web.route_table import WAYS
from expert.web.ways import OPEN, SIGNED_IN, Way

POSTS = [way for way in CLOSED if way.method == "POST"]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with served(tmp_path_factory.mktemp("jobs")) as one:
        one.service.known = one.service.strangers = MUCH
        yield one


@pytest.fixture(scope="module")
def job(server: Running) -> str:
    visitor = server.visitor()
    made = begun(visitor)
    visitor.submit(visitor.form("/note"), text=SECRET)
    assert visitor.status == 200
    return made


def entries(server: Running, job: str) -> int:
    with server.service.companies[""].desk.store() as store:
        return store.get(job).entries


def list_of(server: Running, job: str) -> tuple[Entry, ...]:
    with server.service.companies[""].desk.store() as store:
        return store.entries(job)


def names(ways: list[Way]) -> list[str]:
    return [f"{way.method} {way.path}" for way in ways]


def test_every_way_needs_a_right_that_there_is_and_few_are_open() -> None:
    assert {way.needs for way in WAYS} <= {*RIGHTS, SIGNED_IN, OPEN}
    assert {way.path for way in WAYS if way.needs == OPEN} == {
        "/alive", "/static/{name}", "/worker.js", "/pair",
    }  # fmt: skip
    assert len({(way.method, way.path) for way in WAYS}) == len(WAYS)
    assert all("{job}" not in way.path or way.needs in RIGHTS for way in WAYS)


def test_the_application_has_no_way_beside_the_table(server: Running) -> None:
    from expert.web.app import make_app

    made = {(route.path, *route.methods - {"HEAD"}) for route in make_app(server.service).routes}
    assert made == {(way.path, way.method) for way in WAYS}


@pytest.mark.parametrize("way", CLOSED, ids=names(CLOSED))
def test_who_is_not_signed_in_gets_nothing_and_changes_nothing(
    server: Running, job: str, way: Way
) -> None:
    before = entries(server, job)
    stranger = Visitor(server.address)
    assert knock(stranger, way, job) in (303, 401)
    assert stranger.told.get("location", "/pair") == "/pair"
    assert SECRET not in stranger.page
    for token in ("", "x", "0" * 43, "%00", "a" * 5000):
        stranger.cookies = {"rackwalk": token}
        assert knock(stranger, way, job) in (303, 401, 431)
    assert entries(server, job) == before


@pytest.mark.parametrize("role", ROLES)
def test_each_role_comes_only_where_it_has_the_right(server: Running, job: str, role: str) -> None:
    visitor = server.visitor("B. Sample", role)
    token = visitor.form("/sign-out").value("form")
    barred = [way for way in CLOSED if way.needs in RIGHTS and way.needs not in ROLES[role]]
    before = entries(server, job)
    for way in barred:
        assert knock(visitor, way, job, form=token) == 403, way
        assert SECRET not in visitor.page
    assert entries(server, job) == before
    assert bool(barred) == (role != LEAD)
    free = [way for way in CLOSED if way.needs in ROLES[role] and way.method == "GET"]
    for way in free:
        assert knock(visitor, way, job) in (200, 404), way  # 404: the job has no photo


@pytest.mark.parametrize("way", POSTS, ids=names(POSTS))
def test_a_form_that_another_site_sends_is_not_taken(server: Running, job: str, way: Way) -> None:
    visitor, other = server.visitor(), server.visitor("C. Sample")
    own = visitor.form("/sign-out").value("form")
    foreign = other.form("/sign-out").value("form")
    before = entries(server, job)
    assert knock(visitor, way, job) == 403
    assert knock(visitor, way, job, form=foreign) == 403
    body = urlencode({"form": own, "text": "x"}).encode()
    kind = "application/x-www-form-urlencoded"
    for headers in (
        {"Origin": "https://elsewhere.example"}, {"Origin": "null"},
        {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"},
    ):  # fmt: skip
        visitor.ask("POST", path_of(way, job), body, Content_Type=kind, **headers)
        assert visitor.status == 403, headers
    as_text = json.dumps({"form": own}).encode()
    visitor.ask("POST", path_of(way, job), as_text, Content_Type="text/plain")
    assert visitor.status in (400, 403)
    assert entries(server, job) == before


def test_every_answer_carries_the_policy(server: Running, job: str) -> None:
    visitor = server.visitor()
    for way in WAYS:
        if way.method == "GET":
            knock(visitor, way, job)
            policy = visitor.told["content-security-policy"]
            assert "default-src 'none'" in policy and "'unsafe-inline'" not in policy.replace(
                "style-src 'unsafe-inline'", ""
            )
            report = "/report/" in way.path
            assert (policy == POLICY) != report
            assert not report or ("script-src" not in policy and "sandbox" in policy)
            assert visitor.told["x-content-type-options"] == "nosniff"
            assert visitor.told["cache-control"] in ("no-store", "no-cache")
    visitor.go("/no/such/page")
    assert visitor.status == 404
    assert visitor.told["content-security-policy"] == POLICY


def test_no_page_holds_a_script_or_a_style_of_its_own(server: Running, job: str) -> None:
    visitor = server.visitor()
    for way in WAYS:
        if way.method == "GET" and "/report/" not in way.path and "static" not in way.path:
            knock(visitor, way, job)
            assert "<style" not in visitor.page and " style=" not in visitor.page
            assert visitor.page.count("<script") == visitor.page.count('<script src="/static/')
            assert "javascript:" not in visitor.page and " onclick" not in visitor.page


def test_a_name_that_only_leads_here_is_not_served(server: Running) -> None:
    visitor = Visitor(server.address, Host="elsewhere.example")
    assert visitor.ask("GET", "/pair") == 400
    for own in ("localhost", "127.0.0.1:80", "[::1]:8437", "192.0.2.7"):
        assert Visitor(server.address, Host=own).ask("GET", "/pair") == 200


def test_a_code_is_good_once(server: Running) -> None:
    code = server.service.pairing.new(TECHNICIAN)
    first, second = Visitor(server.address), Visitor(server.address)
    for visitor in (first, second):
        visitor.go("/pair")
        visitor.submit(visitor.form("/pair"), code=code.shown, name="D. Sample")
    assert first.status == 200
    assert second.status == 403
    assert first.cookies and not second.cookies


def test_who_guesses_codes_is_stopped_and_a_good_code_does_not_help_then(tmp_path: Path) -> None:
    with served(tmp_path) as one:
        guesser = Visitor(one.address)
        statuses = []
        for guess in range(WRONG_EACH + 2):
            guesser.go("/pair")
            guesser.submit(guesser.form("/pair"), code=f"{guess:08}", name="D. Sample")
            statuses.append(guesser.status)
        assert statuses == [403] * WRONG_EACH + [429] * 2
        code = one.service.pairing.new(TECHNICIAN)
        guesser.submit(guesser.form("/pair"), code=code.shown, name="D. Sample")
        assert guesser.status == 429 and not guesser.cookies


def test_a_cookie_is_out_of_reach_of_scripts_and_other_sites(server: Running) -> None:
    visitor = Visitor(server.address)
    visitor.go("/pair")
    fields = {"code": server.service.pairing.new(LEAD).text, "name": "E. Sample"}
    visitor.ask(
        "POST", "/pair", urlencode(fields).encode(),
        Content_Type="application/x-www-form-urlencoded",
    )  # fmt: skip
    told = visitor.told["set-cookie"].lower()
    assert "httponly" in told and "samesite=lax" in told and "secure" not in told


def test_who_signs_out_is_out_with_the_old_cookie_too(server: Running) -> None:
    visitor = server.visitor()
    kept = dict(visitor.cookies)
    visitor.submit(visitor.form("/sign-out"))
    visitor.cookies = kept
    assert visitor.ask("GET", "/") == 303


def test_too_many_requests_are_told_to_wait(tmp_path: Path) -> None:
    with served(tmp_path) as one:
        visitor = one.visitor()
        one.service.known = RateLimit(5, 0.001)  # as if there were a second between two requests
        found = [visitor.ask("GET", "/alive") for _ in range(7)]
        assert found == [200] * 5 + [429] * 2
        assert visitor.told["retry-after"]
        assert one.visitor("B. Sample").status == 200  # others are not held up


def test_too_much_at_once_is_refused(server: Running, job: str) -> None:
    visitor = server.visitor()
    token = visitor.form("/sign-out").value("form")
    visitor.send(f"/jobs/{job}/note", {"form": token, "text": "x" * 400_000})
    assert visitor.status == 413
    many = [("form", token), *((f"f{n}", "x") for n in range(600))]
    visitor.send(f"/jobs/{job}/note", many)
    assert visitor.status == 400


NASTY = "<script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}"


def test_what_people_type_is_shown_and_never_obeyed(server: Running, job: str) -> None:
    visitor = server.visitor(NASTY[:60])
    visitor.go(f"/jobs/{job}")
    visitor.submit(visitor.form("/note"), text=NASTY)
    visitor.submit(visitor.form("/take"), text=NASTY)
    for path in (f"/jobs/{job}", f"/jobs/{job}/steps", f"/jobs/{job}/report/technical", "/"):
        visitor.go(path)
        assert "<script>alert" not in visitor.page and "<img src=x" not in visitor.page
    for path in (
        f"/jobs/{NASTY[:8]}",
        "/?site=<script>alert(1)</script>",
        "/static/..%2fapp.py",
        "/static/../app.py",
        "/?page=99999999999999999999",
        "/?since=<b>",
    ):
        visitor.ask("GET", path.replace("<", "%3C").replace(">", "%3E"))
        assert visitor.status in (200, 400, 404)
        assert "<script>alert" not in visitor.page and "def make_app" not in visitor.page


def test_what_a_script_sends_may_be_nonsense(server: Running, job: str) -> None:
    visitor = server.visitor()
    visitor.go(f"/jobs/{job}")
    if "/join" in visitor.page:
        visitor.submit(visitor.form("/join"))
    token = visitor.form("/sign-out").value("form")
    before = entries(server, job)
    for document in (
        "", "[", "null", "[1]", '{"readings": 7}', '{"readings": [7, null, {}]}', "[" * 100_000,
        '{"now": NaN, "readings": [{"key": "no-such", "at": Infinity, "text": {}, "seen": "x"}]}',
        '{"now": 1e308, "readings": [{"key": "job-hazard", "at": -1e308, "text": "yes"}]}',
    ):  # fmt: skip
        visitor.ask(
            "POST", f"/jobs/{job}/kept", document.encode(), X_Form=token,
            Content_Type="application/json", Accept="application/json",
        )  # fmt: skip
        assert visitor.status in (200, 400, 403), document[:60]
        assert "error in the program" not in visitor.page
    kinds = {each.kind for each in list_of(server, job)[before:]}
    assert kinds <= {"note"}  # what was read for a step that there is not


def test_a_mark_of_an_answer_that_came_to_nothing_is_nobody_elses(
    server: Running, job: str
) -> None:
    visitor = server.visitor("G. Sample")
    visitor.go(f"/jobs/{job}")
    if "/join" in visitor.page:
        visitor.submit(visitor.form("/join"))
    visitor.submit(visitor.form("/take"), text="names nothing", once="mark-of-nothing")
    visitor.submit(visitor.form("/leave"))  # is entered without a mark of its own
    assert list_of(server, job)[-1].kind == "stop"
    marks = [each.data.get("once") for each in list_of(server, job)]
    assert "mark-of-nothing" not in marks


def test_a_filter_is_a_name_and_never_a_file(server: Running, job: str) -> None:
    visitor = server.visitor()
    site = DEMO / "site.yaml"
    for path in ("/audit", "/refrigerant", "/open"):
        visitor.go(f"{path}?site={site}")
        assert visitor.status == 400
        assert "No job was recorded" in visitor.text()


def test_a_session_of_a_company_that_is_gone_is_over(server: Running) -> None:
    visitor = server.visitor()
    visitor.cookies["rackwalk"] = server.service.visits.begin(Person("F. Sample", LEAD, "gone"))
    assert visitor.ask("GET", "/") == 303
