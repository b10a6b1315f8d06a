"""Two people at one job, on pages and in a terminal: who came too, who is where, who said what."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from small_server import Running, Visitor, begun, options, served

from expert.cli.job.open_job import reopen
from expert.inference.evaluate import Evaluator
from expert.procedure.answered_twice import unsettled
from expert.procedure.entries import Entry
from expert.procedure.picture import fold
from expert.procedure.session import Session
from expert.store.jobs import JobStore
from expert.store.paths import job_place
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import LeaveError, Question
from expert.terminal.line_by_line import PlainFront
from expert.terminal.texts import Texts
from expert.web.limits import RateLimit
from expert.web.roles import LEAD, Person


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    with served(tmp_path) as one:
        one.service.known = RateLimit(1e9, 1e9)
        yield one


def entries(server: Running, job: str) -> tuple[Entry, ...]:
    with server.service.companies[""].desk.store() as store:
        return store.entries(job)


def two_at_work(server: Running) -> tuple[Visitor, Visitor, str]:
    """A job whose hazards the first has answered, and a second who has joined."""
    one, two = server.visitor("A. Sample"), server.visitor("B. Sample")
    job = begun(one)
    for hazards in (2, 3):  # with what is done behind each screen of them
        form = one.form("/answer")
        ticks = [("tick", str(number)) for number in range(1, hazards + 1)]
        one.send(form.action, [*form.fields, *ticks])
        one.submit(one.form("/answer"))
    two.go(f"/jobs/{job}")
    two.submit(two.form("/join"))
    return one, two, job


def test_the_cautions_are_asked_of_who_comes_too(server: Running) -> None:
    one, two = server.visitor("A. Sample"), server.visitor("B. Sample")
    job = begun(one)
    form = one.form("/answer")
    one.send(form.action, [*form.fields, ("tick", "1"), ("tick", "2")])
    keys = [value for name, value in one.form("/answer").fields if name == "key"]
    two.go(f"/jobs/{job}")
    assert "answered before you came" in two.text()
    assert "Find the exits" in two.text()
    token = two.form("/sign-out").value("form")
    before = len(entries(server, job))
    for path in ("answer", "skip", "readings", "take", "note"):
        fields = [("form", token), ("once", f"early-{path}"), *(("key", each) for each in keys)]
        two.send(f"/jobs/{job}/{path}", [*fields, ("text", "head 215"), ("reason", "no time")])
        assert two.status == 400, path
    assert len(entries(server, job)) == before
    two.go(f"/jobs/{job}")
    two.submit(two.form("/join"))
    assert two.form("/answer")
    last = entries(server, job)[-1]
    assert (last.kind, last.who) == ("note", "B. Sample")
    assert last.text("text").startswith("Answered with yes by who came too: ")


def test_each_is_asked_what_is_done_where_they_are(server: Running) -> None:
    one, two, job = two_at_work(server)
    one.go(f"/jobs/{job}")
    one.submit(one.form("/stand"), ("room", "motor room"))
    two.submit(two.form("/stand"), ("room", "case"))
    assert "Where I am: case" in two.text()
    jobs = server.service.companies[""]
    with jobs.at(job, Person("A. Sample", LEAD)) as work:
        assert work.session.rooms == ("motor room",)
        here = work.session.current
    with jobs.at(job, Person("B. Sample", LEAD)) as work:
        assert work.session.rooms == ("case",)
        there = work.session.current
    assert (here and here.key) != (there and there.key)
    two.submit(two.form("/stand"), ("room", ""))
    with jobs.at(job, Person("B. Sample", LEAD)) as work:
        assert len(work.session.rooms) > 1


def test_what_both_answered_is_kept_twice_and_settled_by_one(server: Running) -> None:
    one, two, job = two_at_work(server)
    one.go(f"/jobs/{job}")
    two.go(f"/jobs/{job}")
    mine, theirs = one.form("/answer"), two.form("/answer")
    words = [value for name, value, _ in mine.buttons if name == "text"]
    one.submit(mine, ("text", words[0]))
    two.submit(theirs, ("text", words[1]))
    assert "is kept beside it" in two.text()
    key = mine.value("key")
    picture = fold(entries(server, job))
    assert picture.closed[key].text("value") == words[0]
    (both,) = unsettled(picture)
    assert (both.first, both.second, both.stands.who, both.note.who) == (
        words[0], words[1], "A. Sample", "B. Sample",
    )  # fmt: skip
    one.go(f"/jobs/{job}")
    one.submit(one.form("/settle"), ("holds", "first"))
    picture = fold(entries(server, job))
    assert not [*unsettled(picture)]
    assert picture.closed[key].text("value") == words[0]


def test_the_second_may_hold_and_is_then_a_correction_that_the_report_tells(
    server: Running,
) -> None:
    one, two, job = two_at_work(server)
    one.go(f"/jobs/{job}")
    two.go(f"/jobs/{job}")
    mine, theirs = one.form("/answer"), two.form("/answer")
    words = [value for name, value, _ in mine.buttons if name == "text"]
    one.submit(mine, ("text", words[0]))
    two.submit(theirs, ("text", words[1]))
    two.submit(two.form("/settle"), ("holds", "second"))
    picture = fold(entries(server, job))
    assert not [*unsettled(picture)]
    assert picture.closed[mine.value("key")].text("value") == words[1]
    two.go(f"/jobs/{job}/report/technical")
    assert words[0] in two.text() and "answered twice" in two.text()


def test_the_same_answer_twice_is_one_answer(server: Running) -> None:
    one, two, job = two_at_work(server)
    one.go(f"/jobs/{job}")
    two.go(f"/jobs/{job}")
    mine, theirs = one.form("/answer"), two.form("/answer")
    word = next(value for name, value, _ in mine.buttons if name == "text")
    one.submit(mine, ("text", word))
    before = len(entries(server, job))
    two.submit(theirs, ("text", word))
    assert "has entered the same meanwhile" in two.text()
    assert len(entries(server, job)) == before


def test_a_form_sent_twice_is_entered_once_and_a_page_of_yesterday_not_at_all(
    server: Running,
) -> None:
    one, _, job = two_at_work(server)
    one.go(f"/jobs/{job}")
    form = one.form("/answer")
    word = next(value for name, value, _ in form.buttons if name == "text")
    for _ in range(3):
        one.submit(form, ("text", word))
    key = form.value("key")
    found = [each for each in entries(server, job) if each.step == key and each.kind != "note"]
    assert [each.kind for each in found] == ["answer"]
    one.go(f"/jobs/{job}/steps")
    change = next(
        each
        for n in range(40)
        if (each := one.form("/change", n)).value("key") == form.value("key")
    )
    one.submit(change)
    before = len(entries(server, job))
    late = [each for each in form.fields if each[0] not in ("once", "key")]
    one.send(form.action, [*late, ("once", "another-mark"), ("key", "no-such-step"), ("text", "x")])
    assert "stands elsewhere now" in one.text()
    assert len(entries(server, job)) == before


def below_the_question(session: Session, columns: int) -> str:
    """What stands in the line below the next question of a terminal."""
    found: list[str] = []

    class PageScreen(PlainFront):
        def ask(self, question: Question) -> str:
            assert question.ticking
            found.append(question.status(columns))
            raise LeaveError

        def show(self, lines: object) -> None:
            pass

    runner = session.runner
    evaluator = Evaluator(runner.rulebase, runner.subject, members=runner.members.values())
    dialogue = Dialogue(session, Texts(runner, evaluator, depth="working"), PageScreen())
    screen = session.screen
    assert screen is not None
    with pytest.raises(LeaveError):
        dialogue._ask_screen(screen)
    return found[0]


def test_a_terminal_that_holds_a_job_and_a_page_take_turns(server: Running) -> None:
    one, _, job = two_at_work(server)
    place = server.service.companies[""].desk._options.jobs  # type: ignore[attr-defined]
    asked = options(place, who="C. Sample", checklist_file=None)
    with JobStore(job_place(place)) as store:
        store.hold(job)
        terminal = reopen(asked, store, store.get(job)).session
        one.go(f"/jobs/{job}")
        form = one.form("/answer")
        word = next(value for name, value, _ in form.buttons if name == "text")
        one.submit(form, ("text", word))
        told = below_the_question(terminal, 80)
        assert told.startswith("+ A. Sample: ") and word in told
        added = terminal.catch_up()
        assert [each.step for each in added] == [form.value("key")]
        terminal.note("from the terminal")
    one.go(f"/jobs/{job}/since?seen={len(entries(server, job)) - 1}")
    assert "C. Sample: note: from the terminal" in one.page
