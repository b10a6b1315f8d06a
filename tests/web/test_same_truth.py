"""Walks at random over a session as the terminal has it, done alike on pages: one truth."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from random import Random

import pytest
from budget import NIGHTLY
from small_server import Running, Visitor, begun, served
from web_walk import START, PageClock

sys.path.append(str(Path(__file__).parents[1] / "walks"))

from wander import NoLog, Wander  # noqa: E402

from expert.columns.frame import frame_name  # noqa: E402
from expert.columns.known_values import JobHead, values_of  # noqa: E402
from expert.columns.packed_values import packed  # noqa: E402
from expert.errors import ReadingError  # noqa: E402
from expert.inference.evaluate import Evaluator  # noqa: E402
from expert.procedure.answering import Accepted, NeedsConfirmation  # noqa: E402
from expert.procedure.entries import ONCE, Entry  # noqa: E402
from expert.procedure.history import history_in  # noqa: E402
from expert.procedure.log import KnownText  # noqa: E402
from expert.procedure.runner import Runner, runner_for  # noqa: E402
from expert.procedure.screens import LEARNING  # noqa: E402
from expert.procedure.session import Session  # noqa: E402
from expert.report.render import gather, render  # noqa: E402
from expert.store.kept_known import kept_known  # noqa: E402
from expert.web.limits import RateLimit  # noqa: E402
from expert.web.roles import LEAD, Person  # noqa: E402

WHO = "A. Sample"
WALKS = 40 if NIGHTLY else 2
STEPS = 60 if NIGHTLY else 14


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    with served(tmp_path_factory.mktemp("jobs")) as one:
        one.service.known = RateLimit(1e9, 1e9)
        yield one


class Mirrored(Session):
    """A session of which everything that is entered is entered on pages too."""

    visitor: Visitor
    job: str

    def answer(
        self, text: str, *, sure: bool = False, minute: float | None = None, why: str = ""
    ) -> Accepted | NeedsConfirmation:
        active = self.current
        assert active is not None
        early = "as the walk has it" if self.too_early(text) else ""
        outcome = super().answer(text, sure=sure or bool(early), why=early)
        if isinstance(outcome, NeedsConfirmation):
            return outcome
        fields = [("key", active.key), ("why", early)]
        if active.step.type == "adjust":
            names = ("what", "from", "to")
            fields += [*zip(names, (each.strip() for each in text.split(";")), strict=True)]
        elif active.step.type == "members":
            fields += [("member", each.strip()) for each in text.split(",")]
        elif active.step.type == "close":
            state, _, detail = text.partition(":")
            fields += [("text", state), ("detail", detail)]
        else:
            fields.append(("text", text.removesuffix(" ago")))
        self._send("answer", [*fields, *([("sure", "yes")] if sure or early else [])])
        return outcome

    def skip(self, reason: str, *, rest: bool = False, member: bool = False) -> None:
        active = self.current
        assert active is not None
        super().skip(reason, rest=rest, member=member)
        how = "rest" if rest else "member" if member else "step"
        self._send("skip", [("key", active.key), ("reason", reason), ("how", how)])

    def back(self) -> None:
        active = self.current
        assert active is not None
        super().back()
        self._send("back", [("key", active.key)])

    def close(self, text: str) -> None:
        state, _, detail = text.partition(":")
        super().close(text)
        self._send("close", [("state", state), ("detail", detail)])

    def reopen(self, key: str, why: str = "") -> None:
        super().reopen(key, why)
        self._send("change", [("key", key), ("why", why)])

    def _send(self, what: str, fields: list[tuple[str, str]]) -> None:
        token = ("form", self.visitor.form("/sign-out").value("form"))
        mark = ("once", f"mark-{len(self.picture.entries):06}")
        self.visitor.send(f"/jobs/{self.job}/{what}", [token, mark, *fields])
        assert self.visitor.status == 200, (what, fields, self.visitor.text()[:1500])


class OnPages(Wander):
    """A walk of which each step is held against the pages."""

    def start(self, server: Running, clock: PageClock) -> None:
        self.server, self.clock = server, clock
        jobs = server.service.companies[""]
        jobs.now = clock
        self.visitor = server.visitor(WHO)
        self.job = begun(self.visitor, self.checklist.id, self.evaluator.subject.id)
        self.visitor.submit(self.visitor.form("/lead"), ("depth", LEARNING))
        entries = jobs.stores.here.entries(self.job)
        runner = runner_for(self.checklist, self.evaluator, history=history_in(entries))
        session = Mirrored(runner, NoLog(), self.job, entries, now=clock, who=WHO)
        session.visitor, session.job = self.visitor, self.job
        self.session = session

    def begun(self, runner: Runner, entries: tuple[Entry, ...]) -> Session:
        return Session(runner, NoLog(), "job", entries)

    def act(self, active: object) -> None:
        self.clock.at += timedelta(seconds=40)
        super().act(active)  # type: ignore[arg-type]
        self.same()

    def same(self) -> None:
        """The pages stand where the session stands, with the same entries."""
        jobs = self.server.service.companies[""]
        with jobs.at(self.job, Person(WHO, LEAD)) as work:
            here, there = self.session, work.session
            assert _plain(here) == _plain(there)
            assert (here.current and here.current.key) == (there.current and there.current.key)

    def kept_as_known(self) -> tuple[KnownText, KnownText]:
        """What was kept as known when the pages finished the job, and what its entries say."""
        jobs, runner = self.server.service.companies[""], self.session.runner
        with jobs.desk.store() as store:
            kept, entries = (
                kept_known(store.database, [self.job])[self.job],
                store.entries(self.job),
            )
        frame = frame_name(runner.checklist, runner.rulebase)
        head = JobHead("", "", "", runner.subject.id)
        values = values_of(head, frame, runner.checklist, self.evaluator, entries)
        return kept, KnownText(frame, packed(values))

    def reports(self) -> tuple[str, str]:
        """The report of the session's entries, and that of the pages."""
        jobs = self.server.service.companies[""]
        with jobs.desk.store() as store:
            job, kept = jobs.job(self.job), store.entries(self.job)
        texts = [
            render(gather(job, entries, self.session.runner, backend="plain"))
            for entries in (self.session.picture.entries, kept)
        ]
        return texts[0], texts[1]


def _plain(session: Session) -> list[tuple[object, ...]]:
    """What was entered, without marks and numbers, and what a finished job notes of itself."""
    return [
        (e.at, e.kind, e.step, {k: v for k, v in e.data.items() if k != ONCE}, e.who)
        for e in session.picture.entries
        if e.kind not in ("left", "judged")
    ]


@pytest.mark.parametrize("seed", range(WALKS))
def test_a_walk_at_random_is_the_same_on_pages(server: Running, seed: int) -> None:
    jobs = server.service.companies[""]
    random = Random(seed)
    site = next(iter(jobs.desk.sites(jobs.stores.here).values()))
    names = list(jobs.desk.checklists())
    checklist = jobs.desk.checklists()[names[(seed * 7) % len(names)]]
    fitting = jobs.desk.fitting(checklist, site)
    while not fitting:
        checklist = jobs.desk.checklists()[random.choice(names)]
        fitting = jobs.desk.fitting(checklist, site)
    on = site.subjects[random.choice(fitting)[0]]
    rules = jobs.desk.rules  # type: ignore[attr-defined]
    evaluator = Evaluator(rules, on, members=site.members(on), backend="plain")
    walk = OnPages(checklist, evaluator, random)
    walk.start(server, PageClock(START + timedelta(days=seed)))
    walk.walk(STEPS)
    walk.same()
    assert walk.session.finished
    assert len(set(walk.kept_as_known())) == 1
    one, other = (re.sub(r"entry \d+|\b[0-9a-f]{12,64}\b", "", each) for each in walk.reports())
    assert one == other
    assert [each for each in walk.wrong if "without the caution" in each] == []


def test_what_one_face_refuses_the_other_refuses(server: Running) -> None:
    visitor = server.visitor(WHO)
    job = begun(visitor, "liquid-drier-check-and-change", "A")
    visitor.submit(visitor.form("/lead"), ("depth", LEARNING))
    form = visitor.form("/answer")
    jobs = server.service.companies[""]
    with jobs.at(job, Person(WHO, LEAD)) as work:
        before = len(work.session.picture.entries)
        with pytest.raises(ReadingError) as refused:
            work.session.answer("perhaps")
    visitor.send(form.action, [*form.fields, ("text", "perhaps")])
    assert visitor.status == 422
    assert str(refused.value) in visitor.text()
    with jobs.at(job, Person(WHO, LEAD)) as work:
        assert len(work.session.picture.entries) == before
