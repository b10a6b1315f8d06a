"""The pages on a phone of 390 pixels in real Chromium: whole jobs, two people, no connection.

A browser costs what many other tests cost together: all of it runs in the nightly profile, and so
in `.ci/run`.
"""

from __future__ import annotations

import random
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from budget import at_night
from killed_server import Killed
from small_server import Running, begun, options, running, served
from web_browser import Tab, chromium
from web_walk import PageClock, PageWalk, answers_of

from expert.cli.web.serve import make_service
from expert.procedure.entries import ONCE, Entry
from expert.web.limits import RateLimit
from expert.web.live_jobs import LiveJobs

FAULT = "hot-gas-defrost-checkout.a4-low-differential"
SHORT = "find-the-fault.b-dirty-face"
USUAL = {"uction": "20", "psig": "200", "%": "40", "F": "70"}  # by a word of its row
MUCH = RateLimit(1e9, 1e9)
pytestmark = at_night


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as one:
        yield one


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    with served(tmp_path) as one:
        one.service.known = MUCH
        yield one


@pytest.fixture
def killed(tmp_path: Path) -> Iterator[Killed]:
    one = Killed(tmp_path)
    try:
        yield one
    finally:
        one.kill()


def jobs_of(server: Running) -> LiveJobs:
    return server.service.companies[""]


def entries(server: Running, job: str) -> tuple[Entry, ...]:
    with jobs_of(server).desk.store() as store:
        return store.entries(job)


def walk(server: Running, tab: Tab, name: str) -> PageWalk:
    clock = PageClock()
    jobs_of(server).now = clock
    checklist, _, what = name.partition(".")
    job = begun(tab, checklist, what.partition("-")[0].upper())
    return PageWalk(server, tab, job, answers_of(name, jobs_of(server)), clock)  # type: ignore[arg-type]


def make_ready(tab: Tab) -> None:
    """Answers the hazards of a checkout, and does what is to be done before its first question."""
    tab.submit(tab.form("/answer"), tick="1")  # the first hazard only: the second is asked alone
    tab.submit(tab.form("/answer"), ("text", "yes"))
    tab.submit(tab.form("/answer"))  # the other circuits are held off
    form = tab.form("/answer")
    tab.send(form.action, [*form.fields, *(("tick", str(number)) for number in (1, 2, 3))])
    tab.submit(tab.form("/answer"))  # the probes are fitted


def violations(tab: Tab) -> list[str]:
    """What axe-core objects to, with everything unfolded; and what is too wide."""
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright",
        reason="axe-playwright-python is not installed: pip install '.[browser]'",
    )
    tab.ask("document.querySelectorAll('details').forEach(each => each.open = true)")
    found = axe.Axe().run(tab.tab).response
    wide = tab.ask("document.documentElement.scrollWidth")
    return [
        *(f"{each['id']}: {each['nodes'][0]['html'][:200]}" for each in found["violations"]),
        *([f"{wide} pixels wide"] if wide > 390 else []),
    ]


def small(tab: Tab) -> list[str]:
    """Targets that a glove would miss: less than 44 pixels high (WCAG 2.2, 2.5.5)."""
    return tab.ask(
        """[...document.querySelectorAll(`button, a.button, select, input:not([type=hidden]),
        summary`)].filter(each => each.offsetParent && !each.classList.contains('sign') &&
        each.type !== 'checkbox' && each.getBoundingClientRect().height < 44)
        .map(each => each.outerHTML.slice(0, 120))"""
    )


def test_every_kind_of_page_suits_a_screen_reader_a_glove_and_a_phone(
    browser: Any, server: Running
) -> None:
    tab = Tab(browser, server)
    one = walk(server, tab, SHORT)
    paths = [f"/jobs/{one.job}", "/", "/open", "/refrigerant", "/audit", "/another", "/begin",
             f"/jobs/{one.job}/think", f"/jobs/{one.job}/steps"]  # fmt: skip
    for path in paths:
        tab.go(path)
        assert violations(tab) == [], path
        assert small(tab) == [], path
    seen = set()
    for _ in range(60):
        tab.go(f"/jobs/{one.job}")
        kinds = "new Set([...document.querySelectorAll('form.ask *')].map(e => e.tagName + e.type))"
        form = tab.ask(f"[...{kinds}].sort().join()")
        if form and form not in seen:
            seen.add(form)
            assert violations(tab) == [], tab.at
            assert small(tab) == [], tab.at
        if not one.step():
            break
    tab.go(f"/jobs/{one.job}")
    assert "Finished" in tab.text()
    assert violations(tab) == []
    assert tab.heard == []


def test_a_job_goes_to_its_report_with_scripts_off(browser: Any, server: Running) -> None:
    tab = Tab(browser, server, scripts=False)
    one = walk(server, tab, SHORT)
    one.to_the_end(1000)
    tab.go(f"/jobs/{one.job}/report/customer")
    assert "The outdoor unit is dirty" in tab.text()


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_whole_checkout_with_a_fault_goes_to_its_report(
    browser: Any, server: Running, scripts: bool
) -> None:
    tab = Tab(browser, server, scripts=scripts)
    one = walk(server, tab, FAULT)
    assert one.to_the_end() > 100
    tab.go(f"/jobs/{one.job}")
    assert "Defrost differential regulator set too low: almost certain" in tab.text()
    for view in ("technical", "customer", "office"):
        tab.go(f"/jobs/{one.job}/report/{view}")
        assert tab.status == 200
    assert not [each for each in tab.heard if "frame-ancestors" not in each]


def test_two_see_each_other_within_two_seconds_and_settle_what_both_answered(
    browser: Any, server: Running
) -> None:
    one, two = Tab(browser, server, "A. Sample"), Tab(browser, server, "B. Sample")
    job = begun(one)
    make_ready(one)
    two.go(f"/jobs/{job}")
    assert "answered before you came" in two.text()  # the cautions are asked of who comes too
    two.submit(two.form("/join"))
    one.go(f"/jobs/{job}")
    assert "Who reads at case and headers" in two.text()
    two.tab.locator("summary", has_text="Note").first.click()
    two.tab.locator("#note").fill("begun to type")  # so that the page is not made anew
    one.submit(one.form("/answer"), ("text", "two with a radio"))
    waited = two.until("document.getElementById('others').innerText.includes('A. Sample')", 10)
    assert waited < 2
    two.press(two.tab.locator('form.ask button[value="one who walks"]'))
    assert "answered twice" in two.text()
    one.until("document.body.innerText.includes('answered twice')", 10)
    stands = [each for each in entries(server, job) if each.kind == "answer"]
    assert [(each.text("value"), each.who) for each in stands] == [
        ("two with a radio", "A. Sample")
    ]  # nothing is overwritten
    one.press(one.tab.locator('form.twice button[value="second"]'))
    two.go(f"/jobs/{job}")
    assert "answered twice" not in one.text() + two.text()
    stands = [each for each in entries(server, job) if each.kind == "answer"]
    assert [each.text("value") for each in stands] == ["two with a radio", "one who walks"]
    assert {each.who for each in entries(server, job)} >= {"A. Sample", "B. Sample"}


def test_a_place_is_read_without_a_connection_and_handed_over_once_in_order(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("expert.web.place_readings.AT_ONCE", 0.5)  # s; a test is quick
    service = make_service(options(tmp_path))
    service.known = service.strangers = MUCH
    with running(service) as server:
        tab = Tab(browser, server)
        job = begun(tab)
        make_ready(tab)
        tab.until("navigator.serviceWorker.controller")
        tab.go(f"/jobs/{job}")
        port = server.address[1]
        before = len(entries(server, job))
    tab.until("document.body.innerText.includes('No connection')", 15)
    tab.press_here(tab.tab.locator('form.ask button[value="two with a radio"]'))
    tab.tab.locator("#place summary").click()
    rows = tab.tab.locator("#place .row").all()
    titles = []
    for row in rows:
        if "Outdoor temperature" in row.inner_text():
            row.locator("label.sign").click()
            row.locator('input[name^="text"]').fill("8")
        elif row.locator("select[name^=text]").count():
            row.locator("select[name^=text]").select_option(index=1)
        else:  # a value that nobody asks about
            says = row.inner_text()
            usual = next((value for unit, value in USUAL.items() if unit in says), "1")
            row.locator('input[name^="text"]').fill(usual)
        titles.append(row.locator("label").first.inner_text())
    tab.press_here(tab.tab.locator("#place button", has_text="Enter what is filled in"))
    told = tab.tab.locator("#phone").inner_text()
    assert f"Only on this phone: {len(rows) + 1} readings" in told
    tab.tab.reload()  # without a server: the page is there again, and so are the readings
    tab.until(f"document.getElementById('phone').innerText.includes('{len(rows) + 1} readings')")
    assert tab.tab.locator("form.ask").count() >= 1
    with running(service, port=port) as server:
        assert len(entries(server, job)) == before
        tab.until("!document.getElementById('phone').innerText.includes('Only on this')", 40)
        added = entries(server, job)[before:]
        answers = [each for each in added if each.kind == "answer"]
        assert answers[0].text("value") == "two with a radio"
        assert len({each.text(ONCE) for each in answers}) == len(answers) >= len(rows)
        outdoor = next(e for e in answers if e.text("quantity") == "outdoor_temperature")
        assert outdoor.text("text") == "-8 F"
        taken = outdoor.time("taken")
        assert taken is not None and taken < outdoor.at  # the time at which it was typed
        tab.until(f"Number(document.body.dataset.seen) >= {before + len(added)}")
        tab.go(f"/jobs/{job}")  # the page itself has come anew by now; a reload would cross it
        assert len(entries(server, job)) == before + len(added)
    assert not [each for each in tab.heard if "ERR_" not in each and "Failed" not in each]


def test_a_server_that_is_killed_at_every_tenth_entry_loses_and_doubles_nothing(
    browser: Any, killed: Killed, tmp_path: Path
) -> None:
    service = make_service(options(tmp_path))  # reads along in the same store
    server = Running(service, killed.address)
    tab = Tab(browser, server, code=killed.code)
    one = walk(server, tab, FAULT)
    deaths, acknowledged = 0, list[str]()
    for number in range(600):
        tab.go(f"/jobs/{one.job}")
        timer = threading.Timer(random.uniform(0, 0.1), killed.kill)
        if number % 10 == 9:
            timer.start()
        try:
            if not one.step():
                break
            acknowledged += one.keys[-1:]
        except Exception:  # the server died under the hand: what was not acknowledged may lack
            assert number % 10 == 9, number
        if number % 10 == 9:
            timer.join()
            killed.start()
            deaths += 1
            tab.go(f"/jobs/{one.job}")  # what was only on the phone goes over first
            tab.until("JSON.parse(localStorage.getItem('rackwalk readings') || '[]').length == 0")
            tab.tab.wait_for_timeout(500)
    found = entries(server, one.job)
    with jobs_of(server).desk.store() as store:
        assert store.altered(one.job) == ""
    tab.go(f"/jobs/{one.job}")
    assert "Defrost differential regulator set too low" in tab.text()
    assert deaths > 8
    marks = [each.text(ONCE) for each in found if each.text(ONCE)]
    assert len(marks) == len(set(marks))
    assert [each.seq for each in found] == list(range(1, len(found) + 1))
    assert {*acknowledged} <= {each.step for each in found}
    answered = [each.step for each in found if each.kind == "answer"]
    assert len(answered) == len(set(answered))  # nothing is entered twice, and nothing corrected
