"""What the pages say and how they are built, without a browser."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from functools import cache
from html.parser import HTMLParser
from itertools import product

import pytest
from budget import step
from report_jobs import JOBS, SKIPPED, WALK, ReportedJob, job, played, view, with_text

from expert.procedure.entries import Entry
from expert.report.context import ReportContext
from expert.report.refrigerant_accounts import hours
from expert.report.render import gather, render
from expert.report.views import FORMATS, VIEWS

SCRIPT = "<script>alert('x')</script> & <img src=x onerror=alert(1)>"
BREAK = "# a | b\n\n| c | d |\n|---|---|\n- [e](http://f.invalid) `g` **h** ~~i~~"

SOME = list(JOBS)[:: step(3)]  # one of a circuit and one of a rack


class Outline(HTMLParser):
    """Tags, headings and attributes of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    handle_startendtag = handle_starttag

    def all(self, *names: str) -> list[dict[str, str | None]]:
        return [attributes for tag, attributes in self.tags if tag in names]


@cache
def with_typed(text: str) -> ReportContext:
    """The facts of the first job with a text typed everywhere."""
    entries, runner = job("low")
    facts = ReportedJob(who=text, site=text)
    return gather(facts, with_text(entries, text), runner, backend="plain")


def typed(text: str, wanted: str, form: str) -> str:
    """A view of the first job with a text typed everywhere."""
    return render(with_typed(text), wanted, form)


@pytest.mark.parametrize("wanted", VIEWS)
def test_a_page_needs_nothing_from_outside(wanted: str) -> None:
    page = Outline(view("low", wanted))
    assert not page.all("script", "img", "iframe", "object", "embed")
    loads = [a.get(k) for _, a in page.tags for k in ("src", "href", "data", "srcset") if a.get(k)]
    assert all(each == "data:," or (each or "").startswith("#") for each in loads)
    assert "@import" not in view("low", wanted)
    assert "url(" not in view("low", wanted)


@pytest.mark.parametrize("wanted", VIEWS)
@pytest.mark.parametrize("name", SOME)
def test_headings_come_in_order_and_tables_have_headers(name: str, wanted: str) -> None:
    page = Outline(view(name, wanted))
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in zip(levels, levels[1:], strict=False))
    assert all(a.get("scope") in ("col", "row") for a in page.all("th"))
    assert page.all("html")[0]["lang"] == "en"
    assert all(len(page.all(tag)) == 1 for tag in ("main", "header", "footer"))
    ids = [a["id"] for _, a in page.tags if a.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", SOME)
def test_every_picture_has_a_title_a_description_and_numbers_beside_it(name: str) -> None:
    text = view(name)
    drawings = re.findall(r"<svg .*?</svg>", text, re.S)
    assert drawings
    for drawing in drawings:
        assert 'role="img"' in drawing
        found = re.search(r'<title id="(.+?)">(.+?)</title><desc id="(.+?)">(.+?)</desc>', drawing)
        assert found
        assert f'aria-labelledby="{found[1]} {found[3]}"' in drawing
    for figure in re.findall(r"<figure>.*?</figure>", text, re.S):
        assert ("<table" in figure) == ("<svg" in figure)


@pytest.mark.parametrize("wanted", VIEWS)
def test_a_script_in_a_note_stays_text(wanted: str) -> None:
    text = typed(SCRIPT, wanted, "html")
    assert "<script" not in text
    assert "<img" not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize("wanted", VIEWS)
def test_markdown_in_a_text_breaks_no_table_heading_or_list(wanted: str) -> None:
    plain, broken = (typed(each, wanted, "markdown") for each in ("text", BREAK))

    def shape(text: str) -> list[str]:
        return [re.match(r"\s*(#+ |\||- (?!#)|\d+\. |)", line)[0] for line in text.splitlines()]  # type: ignore[index]

    assert shape(broken) == shape(plain)
    assert "- # a" not in broken
    assert "](http" not in broken.replace(r"\](http", "")


def test_a_script_in_markdown_is_escaped() -> None:
    text = typed(SCRIPT, "technical", "markdown")
    assert r"\<script\>" in text
    assert "<script>" not in text.replace(r"\<script\>", "")


def test_the_same_job_gives_the_same_text() -> None:
    entries, runner = job("low")
    report = gather(ReportedJob(), entries, runner, backend="plain")
    for wanted, form in product(VIEWS, FORMATS):
        assert render(report, wanted, form) == view("low", wanted, form), (wanted, form)


@pytest.mark.parametrize("form", FORMATS)
def test_one_unit_system_alone_is_shown_where_it_is_asked_for(form: str) -> None:
    us, si = (view("low", "technical", form, system) for system in ("us", "si"))
    assert "8.4 psi" in us and "0.58 bar" not in us
    assert "0.58 bar" in si and "psig" not in re.sub(r"<title.*?</desc>", "", si).split("Why:")[0]
    assert "8.4 psi" in view("low", "technical", form)


def test_the_customer_page_answers_four_questions_in_plain_words() -> None:
    text = view("low", "customer", "markdown")
    places = [
        text.index(f"## {question}")
        for question in (
            "What was wrong",
            "What was done",
            "What still needs attention, and how soon",
            "What to watch",
        )
    ]
    assert places == sorted(places)
    told = text.split("In the technician's words")[0]
    for term in ("differential", "solenoid", "header", "superheat", "psi"):
        assert term not in told.split("## What was wrong")[1]
    assert "Warmest product, before: -3.0 F (-19.4 C), as it should be" in text
    assert "No amount of refrigerant was recorded on this job." in text


def without_compressors(wanted: str) -> str:
    """A view of the walk in which the compressors were left out."""
    entries, runner = played(*JOBS["walk"][:2], checklist=WALK, skipped="each-compressor")
    return render(gather(ReportedJob(), entries, runner, backend="plain"), wanted, "markdown")


def test_the_customer_is_told_what_is_not_proven() -> None:
    text = without_compressors("customer")
    attention = text.split("## What still needs attention, and how soon")[1].split("##")[0]
    assert "Within days, before it damages equipment: The refrigerant filter" in attention
    assert "not proven to be put right" in attention
    assert "A3, Frozen food doors 5 to 8: A door seal" in attention
    assert "1 check could not be done" in attention


def test_food_that_was_not_read_is_not_called_good() -> None:
    entries, runner = job("low")
    unread = [e for e in entries if "product" not in e.text("quantity")]
    report = gather(ReportedJob(), unread, runner, backend="plain")
    text = render(report, "customer", "markdown")
    assert "The temperature of the food was not read on this job." in text
    assert "as it should be" not in text


def test_the_office_sees_follow_ups_parts_and_time() -> None:
    text = without_compressors("office")
    follow = text.split("## Follow-ups")[1].split("##")[0].strip().splitlines()
    assert follow[0].startswith("- Within days")
    assert "- door gasket, for A3: Door gasket leaking (may be needed" in text
    assert SKIPPED in text
    assert re.search(r"Time: 2026-03-02 \d\d:\d\d \S+ to .*, \d h \d\d min", text)


def test_time_away_is_not_counted() -> None:
    entries, _ = job("low")
    last = entries[-1]
    later = last.at + timedelta(hours=5)
    stopped = [
        *entries,
        Entry(last.seq + 1, last.at, "stop", "", {}),
        Entry(last.seq + 2, later, "resume", "", {}),
    ]
    plain, with_pause = hours(entries), hours(stopped)
    assert plain and with_pause
    assert with_pause.away == timedelta(hours=5)
    assert with_pause.total == plain.total
    assert hours(()) is None


@pytest.mark.parametrize("count", [0, 1, 30])
def test_a_job_with_no_or_few_entries_has_every_view(count: int) -> None:
    entries, runner = job("low")
    report = gather(ReportedJob(), entries[:count], runner, backend="plain")
    for wanted, form in product(VIEWS, FORMATS):
        text = render(report, wanted, form)
        assert "not finished" in text.lower(), (wanted, form)


def test_what_is_left_open_is_told_in_every_view() -> None:
    entries, runner = job("low")
    cut = [e for e in entries if not e.text("restored")]
    report = gather(ReportedJob(), cut, runner, backend="plain")
    for wanted in VIEWS:
        for form in FORMATS:
            assert "pressure probes fitted" in render(report, wanted, form), (wanted, form)


def test_values_that_the_checklist_never_asks_for_are_one_line() -> None:
    lines = view("low", "technical", "markdown").splitlines()
    (line,) = [x for x in lines if "does not ask for" in x and "oil differential" in x]
    assert "return air minus discharge air" in line
    assert "gas cooler" not in line  # the rack has none
    assert any(x.startswith("- Last tube to clear, at the end: 39.0 F") for x in lines)


def test_too_close_to_call_of_the_rack_is_not_repeated_for_each_circuit() -> None:
    watch = view("walk", "technical", "markdown").split("**What to watch**")[1].split("##")[0]
    assert "Compression ratio" not in watch.replace("- Compression ratio", "")


def test_a_refrigerant_amount_reaches_the_books() -> None:
    entries, runner = job("walk")
    at, first = next((n, e) for n, e in enumerate(entries, 1) if e.kind == "answer")
    data = {
        "quantity": "refrigerant_added_today", "kind": "mass", "text": "12 lb", "value": 5.44,
        "plus_minus": 0.05, "stage": "as found", "round": 0,
    }  # fmt: skip
    named = replace(first, step=f"{first.step}+refrigerant_added_today", data=data)
    report = gather(ReportedJob(), [*entries[:at], named, *entries[at:]], runner, backend="plain")
    for wanted in ("customer", "office"):
        for form in FORMATS:
            assert "12.0 lb (5.44 kg)" in render(report, wanted, form), (wanted, form)
