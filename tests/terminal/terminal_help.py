"""A small job for the tests of the terminal, and a front end that types a list of lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from memory_log import MemoryLog

from expert.inference.evaluate import Evaluator
from expert.knowledge.load_rulebase import load_rulebase
from expert.knowledge.load_site import load_site
from expert.procedure.load_checklists import load_checklist
from expert.procedure.runner import Runner, runner_for
from expert.procedure.session import Session
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import Layout
from expert.terminal.step_view import StepView
from expert.terminal.texts import Texts

SMALL = Path(__file__).parent / "small"
START = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)

# The lines that take the small checklist from its first step to its end.
WALK = (
    "y", "", "190", "182", "open", "", "20 F", "1", "40 F", "2", "", "", "",
    "y", "y", "stem", "0 turns", "1 turn", "196 psig", "180", "n", "all well", "", "A. Sample",
)  # fmt: skip


class TickingClock:
    """Goes on by ten seconds each time it is asked."""

    def __init__(self) -> None:
        self.at = START

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=10)
        return self.at


class TypedFront:
    """Types one line after the other, keeps what is shown, and leaves when none is left."""

    interactive = False

    def __init__(self, lines: Iterable[str], columns: int = 80) -> None:
        self.lines = list(lines)
        self.layout = Layout(columns)
        self.shown: list[str] = []
        self.asked: list[Question] = []

    def show(self, lines: Iterable[str]) -> None:
        self.shown += lines

    def ask(self, question: Question) -> str:
        self.asked.append(question)
        if not self.lines:
            raise LeaveError
        line = self.lines.pop(0)
        self.shown.append(f"{question.label}{line}")
        return line

    def interrupt(self) -> None:
        raise KeyboardInterrupt

    def leave(self) -> None:
        raise LeaveError

    @property
    def text(self) -> str:
        return "\n".join(self.shown)


class ShownJob:
    """A session of the small checklist with its texts."""

    def __init__(self, system: str = "us", depth: str = "learning") -> None:
        rules = load_rulebase(SMALL / "rules")
        checklist = load_checklist(SMALL / "checkout.yaml", rules)
        subject = load_site(SMALL / "site.yaml", rules).subjects["A1"]
        evaluator = Evaluator(rules, subject, system=system, backend="plain")
        self.runner: Runner = runner_for(checklist, evaluator, system=system)
        self.log, self.clock = MemoryLog(), TickingClock()
        self.session = Session(self.runner, self.log, "job", now=self.clock)
        self.texts = Texts(self.runner, evaluator, depth=depth)

    def answer(self, *lines: str) -> None:
        """Answers steps in order, without a front end."""
        for line in lines:
            self.session.answer(line)

    def after(self, line: str) -> list[str]:
        """What is shown after an answer."""
        at = self.at()
        before = self.texts.standing(at)
        self.session.answer(line)
        return self.texts.after(before, replace(at, picture=self.session.picture))

    def at(self, columns: int = 80, *, ascii_only: bool = False) -> StepView:
        """The moment of the step that is asked now."""
        active = self.session.current
        assert active is not None
        layout = Layout(columns, ascii_only)
        return StepView(self.session.picture, active, self.clock.at, layout)

    @property
    def key(self) -> str:
        """The key of the step that is asked now, empty when finished."""
        return self.session.current.key if self.session.current else ""
