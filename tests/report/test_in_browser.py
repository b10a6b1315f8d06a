"""The pages in a real browser without a network: a phone, a sheet of paper, a screen reader."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import PAPERS, Browser, browser
from budget import in_a_browser
from records.records_made import done, found
from report_jobs import JOBS, ReportedJob, job, view, with_text

from expert.cli.jobs.show_audit import _write_html
from expert.records.audit import audit
from expert.records.record_roles import SourcedCount
from expert.report.render import gather, render
from expert.report.views import VIEWS

pytestmark = in_a_browser
PAGES = [(name, wanted) for name in JOBS for wanted in VIEWS]


@pytest.fixture(scope="module")
def tab() -> Iterator[Browser]:
    with browser() as one:
        yield one


@pytest.fixture
def opened(tab: Browser, tmp_path: Path, request: pytest.FixtureRequest) -> Browser:
    name, wanted = request.param
    page = tmp_path / "page.html"
    page.write_text(view(name, wanted), encoding="utf-8")
    tab.open(page)
    return tab


def violations(tab: Browser) -> list[str]:
    """What axe-core objects to, all details open."""
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright",
        reason="axe-playwright-python is not installed: pip install '.[browser]'",
    )
    tab.ask("document.querySelectorAll('details').forEach(each => each.open = true)")
    found: dict[str, Any] = axe.Axe().run(tab.tab).response
    return [
        f"{each['id']}: {each['nodes'][0]['html'][:200]} ({len(each['nodes'])})"
        for each in found["violations"]
    ]


@pytest.mark.parametrize("opened", PAGES, indirect=True, ids="-".join)
def test_a_page_opens_alone_fits_a_phone_and_suits_a_screen_reader(opened: Browser) -> None:
    requests = [each for each in opened.heard if not each.startswith(("file:", "data:"))]
    assert requests == []  # no request, no console message, no error
    assert opened.ask("document.documentElement.scrollWidth") <= 360
    assert violations(opened) == []


def test_what_is_wrong_with_a_page_would_be_noticed(tab: Browser, tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    text = view("low", "office").replace(' lang="en"', "").replace("color: #111", "color: #aaa")
    wide = '<img src="http://127.0.0.1:9/x.png" alt=""><p style="width: 900px">wide</p></main>'
    page.write_text(text.replace("</main>", wide), encoding="utf-8")
    tab.open(page)
    assert any(each.startswith("http://127.0.0.1") for each in tab.heard)
    assert tab.ask("document.documentElement.scrollWidth") > 360
    found = " ".join(violations(tab))
    assert "html-has-lang" in found
    assert "color-contrast" in found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    "opened", [(name, "customer") for name in JOBS], indirect=True, ids="-".join
)
def test_the_customer_page_is_one_sheet(opened: Browser, paper: str) -> None:
    assert opened.printed(paper) == 1


@pytest.mark.parametrize("opened", [("low", "technical")], indirect=True)
def test_pages_are_counted(opened: Browser) -> None:
    assert opened.printed("Letter") > 3


@pytest.mark.parametrize("name", JOBS)
def test_the_technical_page_is_two_sheets_and_the_record_its_annex(
    tab: Browser, tmp_path: Path, name: str
) -> None:
    page = tmp_path / "page.html"
    page.write_text(view(name, "technical"), encoding="utf-8")
    tab.open(page)
    whole = tab.printed("Letter")
    tab.ask("document.querySelector('.annex').remove()")
    assert tab.printed("Letter") <= 2 < whole


def test_a_crowded_customer_page_is_still_one_sheet(tab: Browser, tmp_path: Path) -> None:
    entries, runner = job("walk")
    report = gather(ReportedJob(), with_text(entries, "word " * 20), runner, backend="plain")
    page = tmp_path / "page.html"
    page.write_text(render(report, "customer", "html"), encoding="utf-8")
    tab.open(page)
    assert [tab.printed(paper) for paper in PAPERS] == [1, 1]


def test_a_script_that_was_typed_does_not_run(tab: Browser, tmp_path: Path) -> None:
    entries, runner = job("low")
    text = "<script>console.log('ran')</script><img src=x onerror=\"console.log('ran')\">"
    report = gather(ReportedJob(who=text), with_text(entries, text), runner, backend="plain")
    for wanted in VIEWS:
        page = tmp_path / f"{wanted}.html"
        page.write_text(render(report, wanted, "html"), encoding="utf-8")
        tab.open(page)
        assert "ran" not in tab.heard
        assert "<script>console.log('ran')</script>" in tab.ask("document.body.innerText")


@pytest.mark.parametrize("opened", [("low", "technical")], indirect=True)
def test_the_numbers_of_a_picture_are_printed_though_they_are_folded(opened: Browser) -> None:
    details = "document.querySelector('details.printed'), '::details-content'"
    shown = f"getComputedStyle({details}).contentVisibility"
    assert opened.ask(shown) == "hidden"
    opened.tab.emulate_media(media="print")
    try:
        assert opened.ask(shown) == "visible"
    finally:
        opened.tab.emulate_media(media="screen")


def test_an_audit_of_thousands_of_jobs_can_be_read_on_a_phone(tab: Browser, tmp_path: Path) -> None:
    crews = [f"Crew with a rather long name {n}" for n in range(40)]
    jobs = [
        done(
            n, found(f"cause-with-a-long-name-{n % 30}", parts=("expansion valve",)),
            after=n // 10, who=crews[n % 40], title=f"A procedure with a long title {n % 25}",
            skips=((f"step-with-a-long-name-{n % 60}", f"reason of some length {n % 90}"),),
        )
        for n in range(2000)
    ]  # fmt: skip
    tables = audit(jobs, SourcedCount(90, "common practice"), SourcedCount(10, "common practice"))
    assert sum(len(table.rows) for table in tables) > 300
    page = tmp_path / "audit.html"
    _write_html(page, [("Jobs", "2000")], tables, len(jobs))
    tab.open(page)
    tab.tab.set_viewport_size({"width": 390, "height": 844})
    folded = tab.ask("document.documentElement.scrollHeight")
    tab.ask("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert tab.ask("document.documentElement.scrollWidth") <= 390  # unfolded too
    assert folded < 30 * 844 < tab.ask("document.documentElement.scrollHeight")


def test_a_sheet_takes_readings_on_a_phone_without_a_network(tab: Browser, tmp_path: Path) -> None:
    from expert.cli.frame.main import main
    from expert.places import shipped
    from expert.procedure.sheet_lines import sheet_line

    page = tmp_path / "sheet.html"
    site = shipped("checklists") / "demo" / "site.yaml"
    words = ["sheet", "hot-gas-defrost-checkout", "--site", str(site), "--subject", "A4"]
    assert main([*words, "--jobs", str(tmp_path), "--output", str(page)]) == 0
    tab.open(page)
    tab.tab.set_viewport_size({"width": 390, "height": 844})
    for caution in tab.tab.query_selector_all(".caution select"):
        caution.select_option("yes")
    tab.tab.fill('[data-key="receiver-level"]', "38")
    tab.tab.select_option('[data-key="sight-glass"]', "clear")
    series = tab.tab.query_selector("[data-series]")
    for value in ("52", "68"):
        series.fill(value)
        series.evaluate("e => e.closest('.row').querySelector('[data-add]').click()")
    tab.tab.reload()  # the page itself keeps them
    assert tab.ask("document.documentElement.scrollWidth") <= 390
    lines = [sheet_line(each) for each in tab.tab.input_value("#text").splitlines()[1:]]
    told = {each.key: each.value for each in lines}
    assert told["receiver-level"] == "38 %"
    assert told["sight-glass"] == "clear"
    assert [each.value for each in lines if "#1." in each.key] == ["52 psig", "68 psig"]
    assert all(each.time for each in lines)
    assert violations(tab) == []
    outside = [each for each in tab.heard if not each.startswith(("file:", "data:"))]
    assert outside == []
