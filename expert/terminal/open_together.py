"""What earlier jobs left open, answered together where it is more than a few things."""

from __future__ import annotations

import re

from expert.errors import ReadingError
from expert.inference.sentences import first_up
from expert.procedure.history import DONE, NOT_LOOKED_AT, STILL_OPEN, OpenItem
from expert.procedure.session import Session
from expert.terminal.front import Front, LeaveError, Question

FEW = 3  # so many are asked one by one
_REASON = "asked together at the beginning of the job"
_FORM = (
    "Type the numbers of what is done, like 1, 4-6; then 'open' and numbers for what is still "
    "open. What is not named was not looked at. Enter asks one by one."
)
_NUMBERS = re.compile(r"^\d+(-\d+)?([, ]+\d+(-\d+)?)*$")


def answer_together(session: Session, front: Front) -> None:
    """Ask once about all open items. Raises LeaveError."""
    waiting = _waiting(session)
    if len(waiting) <= FEW or not front.interactive:
        return
    layout = front.layout
    lines = ["", *layout.text(f"Left open by earlier jobs: {len(waiting)} things.")]
    for number, item in enumerate(waiting, 1):
        since = f", since {item.since.astimezone():%Y-%m-%d}" if item.since else ""
        lines += layout.listed(str(number), f"{item.subject}: {first_up(item.text)}{since}", 2)
    front.show([*lines, *layout.text(_FORM)])

    def wrong(text: str) -> str:
        try:
            answers_in(text, len(waiting))
        except ReadingError as error:
            return str(error)
        return ""

    while True:
        try:
            typed = front.ask(Question("Open items> ", check=wrong))
        except KeyboardInterrupt:
            raise LeaveError from None
        if not typed.strip():
            return
        if not (refused := wrong(typed)):
            break
        front.show(layout.text(refused))
    answers = answers_in(typed, len(waiting))
    for number in range(1, len(waiting) + 1):
        session.answer(answers.get(number, f"{NOT_LOOKED_AT}: {_REASON}"))
    counts = [sum(each == word for each in answers.values()) for word in (DONE, STILL_OPEN)]
    left = len(waiting) - len(answers)
    front.show(
        layout.text(f"{counts[0]} done, {counts[1]} still open, {left} not looked at. Noted.")
    )


def answers_in(text: str, count: int) -> dict[int, str]:
    """The answer to each number named: '1, 4-6 open 2, 3'. Raises ReadingError."""
    done, marked, still = text.lower().partition("open")
    found = dict.fromkeys(_numbers(done, count), DONE)
    for number in _numbers(still, count):
        if number in found:
            raise ReadingError(f"{number} is named twice.")
        found[number] = STILL_OPEN
    if marked and not still.strip():
        raise ReadingError(f"Which are still open? {_FORM}")
    return found


def _numbers(text: str, count: int) -> list[int]:
    typed = " ".join(text.replace("done", " ").split()).strip(",; ")
    if not typed:
        return []
    if not _NUMBERS.match(typed):
        raise ReadingError(f"'{typed}' are no numbers. {_FORM}")
    found: list[int] = []
    for part in re.split(r"[, ]+", typed):
        first, _, last = part.partition("-")
        numbers = range(int(first), int(last or first) + 1)
        if not numbers or numbers[0] < 1 or numbers[-1] > count:
            raise ReadingError(f"'{part}' is none of 1 to {count}.")
        found += numbers
    return found


def _waiting(session: Session) -> list[OpenItem]:
    """The open items that come first in a job and are not answered yet."""
    found = []
    for active in session.runner.plan(session.picture):
        item = session.runner.item(active)
        if item is None:
            break
        if not active.closed:
            found.append(item)
    return found
