"""What somebody is told and asked while somebody else is at the same job."""

from __future__ import annotations

from collections.abc import Iterable

from terminal_help import ShownJob, TypedFront

from expert.procedure.session import Session
from expert.terminal.asking import Asking
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import Question
from expert.terminal.others import Others


class Beside(TypedFront):
    """While a question waits for its line, somebody else answers too: `meanwhile` by number."""

    def __init__(self, lines: Iterable[str], other: Session, meanwhile: dict[int, str]) -> None:
        super().__init__(lines)
        self.other, self.meanwhile = other, meanwhile

    def ask(self, question: Question) -> str:
        if (text := self.meanwhile.get(len(self.asked))) is not None:
            self.other.catch_up()
            self.other.answer(text)
        return super().ask(question)


def two() -> tuple[ShownJob, Session]:
    job = ShownJob()
    others = [
        Session(
            job.runner, job.log, "job", now=job.clock, who=who,
            others=lambda seq: job.log.entries[seq:],
        )
        for who in ("A. Sample", "B. Sample")
    ]  # fmt: skip
    job.session = others[0]
    return job, others[1]


def test_what_somebody_else_answered_first_is_told_and_not_overwritten() -> None:
    job, other = two()
    front = Beside(["y", "", "190"], other, {2: "188"})
    assert not Dialogue(job.session, job.texts, front).run()
    assert "+ B. Sample: Upper header pressure: 188" in front.text
    assert "Not entered: 190" in front.text
    answers = [entry for entry in job.log.entries if entry.kind == "answer"]
    assert [(entry.text("text"), entry.who) for entry in answers] == [("188", "B. Sample")]
    assert [entry.seq for entry in job.log.entries] == [*range(1, len(job.log.entries) + 1)]


def test_who_comes_to_a_job_answers_its_cautions_first() -> None:
    job, other = two()
    job.session.answer("y")
    other.catch_up()
    refusing, agreeing = TypedFront(["maybe", "n"]), TypedFront(["y"])
    assert not Others(other, Asking(refusing)).join()
    assert "Not begun." in refusing.text
    assert Others(other, Asking(agreeing)).join()
    assert [entry.kind for entry in job.log.entries] == ["acknowledge", "note"]


def test_who_waits_for_another_place_is_told_for_what_and_may_go_on_alone() -> None:
    job, other = two()
    other.resume(["case"], beside=True)
    job.session.catch_up()
    job.session.at = ("roof",)
    front = TypedFront(["", "here", "y"])
    Dialogue(job.session, job.texts, front).run()
    assert "Nothing to be done here now (roof)." in front.text
    assert "There: B. Sample, case" in front.text
    assert [entry.kind for entry in job.log.entries] == ["resume", "acknowledge", "stop"]
