"""The prompt on a made-up terminal: what it returns and does, not the bytes it draws."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import DummyOutput
from terminal_help import WALK, ShownJob

from expert.terminal.dialogue import Dialogue
from expert.terminal.front import LeaveError, Question
from expert.terminal.prompt import PromptFront

ENTER, CTRL_C, CTRL_D = "\r", "\x03", "\x04"


class RecordedOutput(DummyOutput):
    """Keeps what is written between the prompts."""

    def __init__(self) -> None:
        self.text = ""

    def write(self, data: str) -> None:
        self.text += data


@pytest.fixture
def typed() -> Iterator[PipeInput]:
    with create_pipe_input() as source:
        yield source


@pytest.fixture
def sink() -> RecordedOutput:
    return RecordedOutput()


@pytest.fixture
def front(typed: PipeInput, sink: RecordedOutput) -> PromptFront:
    return PromptFront(typed, sink)


def _refuses_low(text: str) -> str:
    return "" if text == "198" else f"'{text}' is refused."


def test_a_line_is_returned_on_enter(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text("198 psig" + ENTER)
    assert front.ask(Question("psig> ")) == "198 psig"


def test_a_byte_that_is_no_utf_8_is_read_as_a_sign_that_can_be_kept(
    front: PromptFront, typed: PipeInput
) -> None:
    checked: list[str] = []
    typed.send_bytes(b"J\xfcrgen" + ENTER.encode())
    read = front.ask(Question("name> ", check=lambda text: checked.append(text) or ""))  # type: ignore[func-returns-value]
    assert read == checked[0] == "J\ufffdrgen"


def test_the_field_is_empty_after_a_refusal(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text("19" + ENTER + "8" + ENTER + "198" + ENTER)
    assert front.ask(Question("psig> ", check=_refuses_low)) == "198"


def test_ctrl_c_clears_the_line(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text("99" + CTRL_C + "198" + ENTER)
    assert front.ask(Question("> ")) == "198"


def test_a_second_ctrl_c_leaves(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text("99" + CTRL_C + CTRL_C)
    with pytest.raises(LeaveError):
        front.ask(Question("> "))


def test_a_letter_in_between_disarms_ctrl_c(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text(CTRL_C + "1" + CTRL_C + "198" + ENTER)
    assert front.ask(Question("> ")) == "198"


def test_ctrl_d_on_an_empty_line_leaves(front: PromptFront, typed: PipeInput) -> None:
    typed.send_text(CTRL_D)
    with pytest.raises(LeaveError):
        front.ask(Question("> "))


@pytest.mark.parametrize("letter", ["?", "b", "t", "q"])
def test_a_letter_works_after_a_refusal_and_after_a_no(
    letter: str, front: PromptFront, typed: PipeInput, job: ShownJob
) -> None:
    lines = ("y", "", "900", letter, *(("190", "") if letter == "b" else ()), "q")
    typed.send_text("".join(line + ENTER for line in lines) + CTRL_D)
    assert not Dialogue(job.session, job.texts, front).run()
    kinds = [entry.kind for entry in job.log.entries]
    assert kinds[:2] == ["acknowledge", "done"]
    assert ("reopen" in kinds) == (letter == "b")


def test_nothing_is_glued_to_a_value_that_was_not_kept(
    front: PromptFront, typed: PipeInput, job: ShownJob
) -> None:
    lines = ("y", "", "400", "n", "190")
    typed.send_text("".join(line + ENTER for line in lines) + CTRL_D)
    assert not Dialogue(job.session, job.texts, front).run()
    assert job.session.picture.closed["upper-pressure"].data["text"] == "190"


def test_one_prompt_serves_the_whole_checklist(
    front: PromptFront, typed: PipeInput, sink: RecordedOutput, job: ShownJob
) -> None:
    typed.send_text("".join(line + ENTER for line in WALK))
    assert Dialogue(job.session, job.texts, front).run()
    assert job.session.finished
    assert "= Push through the coil: 8.0 psi" in sink.text


def test_a_refused_reading_is_corrected_in_place_and_asked_once(
    front: PromptFront, typed: PipeInput, sink: RecordedOutput, job: ShownJob
) -> None:
    typed.send_text("y" + ENTER + ENTER + "900" + ENTER + "190" + ENTER + CTRL_D)
    assert not Dialogue(job.session, job.texts, front).run()
    assert job.log.entries[2].data["text"] == "190"
    assert sink.text.count("Step 3 of") == 1


def test_a_letter_is_a_command_in_the_prompt_too(
    front: PromptFront, typed: PipeInput, sink: RecordedOutput, job: ShownJob
) -> None:
    typed.send_text("y" + ENTER + "?" + ENTER + "q" + ENTER)
    assert not Dialogue(job.session, job.texts, front).run()
    assert "Why: It must not start by itself." in sink.text


def test_leaving_with_ctrl_d_keeps_the_step(
    front: PromptFront, typed: PipeInput, job: ShownJob
) -> None:
    typed.send_text("y" + ENTER + CTRL_D)
    assert not Dialogue(job.session, job.texts, front).run()
    assert [entry.kind for entry in job.log.entries] == ["acknowledge", "stop"]
    assert job.key == "hold-off"
