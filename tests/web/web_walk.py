"""An answers file entered through the pages, as a person without scripts would."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from small_server import DEMO, Running, Visitor

from expert.procedure.active import Active
from expert.procedure.answers import Answers, Scripted
from expert.procedure.closing import TYPE as CLOSE
from expert.procedure.read_answers import load_answers
from expert.procedure.screens import HAZARDS, STEP, Screen
from expert.procedure.scripted import _by_itself, _no
from expert.procedure.session import Session
from expert.units.kinds import Kind
from expert.units.parse import parse_measure
from expert.web.live_jobs import LiveJobs
from expert.web.roles import LEAD, Person

START = datetime(2026, 3, 14, 7, 0, tzinfo=UTC)
NOBODY_ELSE = Person("A. Sample", LEAD)


@dataclass
class PageClock:
    """A clock that a test sets."""

    at: datetime = START

    def __call__(self) -> datetime:
        return self.at

    def go_on(self, session: Session, active: Active, found: Scripted | None) -> None:
        """Twenty seconds, or to the minute of a watch at which the file has a value."""
        if found is not None and found.minute:
            clock = session.runner.elapsed(session.picture, active, self.at)
            if clock is not None:
                seconds = parse_measure(found.minute, Kind.DURATION).value
                self.at = max(self.at, clock.started + timedelta(seconds=seconds))
                return
        self.at += timedelta(seconds=20)


def answers_of(name: str, jobs: LiveJobs) -> Answers:
    """An answers file of the demo store."""
    checklist = jobs.desk.checklists()[name.partition(".")[0]]
    return load_answers(DEMO / f"{name}.answers.yaml", checklist)


@dataclass
class PageWalk:
    """A person with a file of answers in front of the pages of a job."""

    server: Running
    visitor: Visitor
    job: str
    answers: Answers
    clock: PageClock = field(default_factory=PageClock)
    keys: list[str] = field(default_factory=list)

    @property
    def jobs(self) -> LiveJobs:
        return self.server.service.companies[""]

    def to_the_end(self, most: int = 1000) -> int:
        """Answers page after page; how many there were."""
        seen = ""
        for number in range(most):
            self.visitor.go(f"/jobs/{self.job}")
            assert self.visitor.status == 200, self.visitor.text()
            before, seen = (
                seen,
                self.visitor.form("/answer").value("seen")
                if ("/answer" in self.visitor.page)
                else "",
            )
            assert seen != before, f"nothing was entered: {self.visitor.text()[:1500]}"
            if not self.step():
                return number
        return most

    def step(self) -> bool:
        """Answers the page that is open; False where the job is finished."""
        with self.jobs.at(self.job, NOBODY_ELSE) as work:
            screen = work.session.screen
            if screen is None:
                return False
            found = [_found(work.session, self.answers, each) for each in screen.parts]
            self.clock.go_on(work.session, screen.first, found[0])
        form = self.visitor.form("/answer")
        keys = [value for name, value in form.fields if name == "key"]
        assert keys == [each.key for each in screen.parts]  # the page asks what the session asks
        self.keys += keys
        if screen.kind != STEP:
            self._several(screen, found)
        elif found[0] is not None and found[0].skip is not None:
            how = "rest" if found[0].rest else "member" if found[0].member else "step"
            skip = self.visitor.form("/skip")
            self.visitor.submit(skip, ("how", how), reason=found[0].skip)
        else:
            self._one(screen.first, found[0])
        assert self.visitor.status == 200, self.visitor.text()
        return True

    def _several(self, screen: Screen, found: list[Scripted | None]) -> None:
        so = [_is_so(one, each, screen.kind) for each, one in zip(screen.parts, found, strict=True)]
        ticked = [n for n, each in enumerate(so, 1) if each == (screen.kind == HAZARDS)]
        form = self.visitor.form("/answer")
        fields = [*form.fields, *(("tick", str(n)) for n in ticked)]
        self.visitor.send(form.action, fields)

    def _one(self, active: Active, found: Scripted | None) -> None:
        text = (found.text or "") if found is not None else ""
        visitor, form = self.visitor, self.visitor.form("/answer")
        buttons = {value for name, value, _ in form.buttons if name == "text"}
        if found is not None and found.adjust is not None:
            what, before, after = found.adjust
            fields = [each for each in form.fields if each[0] not in ("what", "from", "to")]
            visitor.send(form.action, [*fields, ("what", what), ("from", before), ("to", after)])
        elif text in buttons:
            visitor.submit(form, ("text", text))
        elif active.step.type == "caution" and ":" in text:
            visitor.submit(visitor.form("/answer", 1), detail=text.partition(":")[2].strip())
        elif active.step.type == "members":
            wanted = [each.strip() for each in text.split(",") if each.strip()]
            fields = [each for each in form.fields if each[0] != "member" or not wanted]
            visitor.send(form.action, [*fields, *(("member", each) for each in wanted)])
        elif active.step.type in (CLOSE, "open"):
            word, _, detail = text.partition(":")
            fields = [each for each in form.fields if each[0] not in ("text", "detail")]
            visitor.send(form.action, [*fields, ("text", word), ("detail", detail.strip())])
        elif text and active.step.type in ("clock", "time"):
            ago = text.removesuffix(" ago")
            visitor.submit(visitor.form("/answer", 1), text=ago)
        elif text and active.searched and buttons - {"enough"}:
            visitor.submit(visitor.form("/take"), text=text)  # the name of another reading
        elif text and len(buttons) > 2:
            visitor.submit(visitor.form("/answer", 1), text=text)
        elif text and ("text" in dict(form.fields)):
            minus = {"minus": "yes"} if text.startswith("-") else {}
            visitor.submit(form, text=text.lstrip("-") if minus else text, **minus)
        else:
            visitor.submit(form)
        for _ in range(2):
            if 'name="sure"' in visitor.page and visitor.status == 200:
                why = {"why": "as the file has it"} if 'name="why"' in visitor.page else {}
                visitor.submit(visitor.form("/answer"), ("sure", "yes"), **why)


def _found(session: Session, answers: Answers, active: Active) -> Scripted | None:
    found = answers.find(active, _no(session, active))
    if active.searched:
        found = answers.in_search(active, session.picture.closed)
    if found is None and _by_itself(active):
        return Scripted(answers.place, "")
    return found


def _is_so(found: Scripted | None, part: Active, kind: str) -> bool:
    if found is None:
        return True
    if found.skip is not None:
        return False
    wanted = {HAZARDS: "yes", "looks": part.step.usual}.get(kind)
    return wanted is None or found.text == wanted


def file_of(name: str) -> Path:
    """The file of a demo walk."""
    return DEMO / f"{name}.answers.yaml"
