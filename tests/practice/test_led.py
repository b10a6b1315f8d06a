"""A checklist walked on a practice plant: the plant answers, the dialogue is that of a real job."""

from __future__ import annotations

from collections.abc import Iterable

from practice_made import attempt_at, shipped_setting
from shipped_knowledge import shipped_checklists

from expert.practice.attempt import Attempt
from expert.procedure.log import NothingKept
from expert.procedure.runner import runner_for
from expert.procedure.screens import LEARNING
from expert.procedure.session import Session
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import LeaveError, Question
from expert.terminal.layout import Layout
from expert.terminal.practice_front import PracticeFront
from expert.terminal.texts import Texts


class LedNewcomer:
    """Reads wherever something is read, says yes to cautions, skips what cannot be had."""

    interactive = True
    layout = Layout(80, ascii_only=True)

    def __init__(self, most: int) -> None:
        self.lines: list[str] = []
        self.asked = 0
        self.most = most
        self.session: Session | None = None
        self.read: set[str] = set()

    def show(self, lines: Iterable[str]) -> None:
        self.lines += lines

    def interrupt(self) -> None:
        pass

    def leave(self) -> None:
        pass

    def ask(self, question: Question) -> str:
        self.asked += 1
        if self.asked > self.most:
            raise LeaveError
        assert self.session is not None
        active = self.session.current
        label = question.label.lower()
        if label.startswith("1-2,"):
            return "2"  # the rest of a watch
        if label.startswith(("why", "reason")):
            return "not to be had on this plant"
        if active is None:
            return "y"
        if active.quantity and active.step.type != "caution" and label != "y/n> ":
            if active.key in self.read:
                return "s"
            self.read.add(active.key)
            return "read"
        if active.step.type in ("adjust", "sign"):
            raise LeaveError
        if active.step.type == "stop":
            return ""
        return "y" if active.step.type == "caution" or "y/n" in label else ""


def walked(attempt: Attempt, most: int) -> tuple[LedNewcomer, Session]:
    checklist = shipped_checklists()["hot-gas-defrost-checkout"]
    runner = runner_for(checklist, attempt.evaluator)
    session = Session(runner, NothingKept(), "job", now=lambda: attempt.now)
    person = LedNewcomer(most)
    person.session = session
    front = PracticeFront(person, attempt)
    front.session = session
    Dialogue(session, Texts(runner, attempt.evaluator, depth=LEARNING), front).run(LEARNING)
    return person, session


def test_a_defrost_checkout_is_walked_and_finds_the_leaking_stop() -> None:
    attempt = attempt_at(shipped_setting().exercises["ice-after-the-defrost"])
    person, session = walked(attempt, 150)
    told = "\n".join(person.lines[-40:])
    assert session.current is not None and session.current.step.type in ("adjust", "sign"), told
    found = [each.cause.id for each in session.evaluation().findings]
    assert found[0] == "suction-stop-leaking", (found, told)
    assert not attempt.stopped
