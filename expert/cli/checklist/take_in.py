"""`rackwalk take-in`: enter into a job what was read on a sheet, with its times."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase
from expert.cli.frame.options import add_checklist_file, add_place, add_who

if TYPE_CHECKING:
    from expert.procedure.session import Session
    from expert.procedure.sheet_lines import SheetLine
    from expert.terminal.front import Front

STARTED = "started"  # what a sheet writes for a clock, with the time behind it
DESCRIPTION = """\
FILE is what a sheet handed back, or lines of one's own: 'KEY: value' or the name of a reading and
its value, each with 'at 11:42' where the time is known. What is odd is asked; what cannot be
entered yet is told with its reason and kept as a note, so nothing is lost. 'rackwalk resume' goes
on with what is missing."""
EXAMPLES = """\
  rackwalk take-in 2026-03-14-A4 readings.txt"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("job", metavar="JOB")
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--units", default=None, help=argparse.SUPPRESS)
    add_who(parser, "who read it")
    add_checklist_file(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when all was entered, 4 where something was kept as a note only."""
    from expert.cli.frame.common import open_jobs
    from expert.cli.job.open_job import reopen
    from expert.errors import ReadingError
    from expert.procedure.sheet_lines import read_sheet_lines
    from expert.terminal.choose import open_front

    lines = read_sheet_lines(options.file)
    with open_jobs(options.jobs) as store:
        job = store.get(options.job)
        beside = store.join(job.id)  # somebody may be at the job meanwhile
        work = reopen(options, store, job)
        if work.session.finished:
            raise ReadingError(f"Job {job.id} is finished: nothing more is entered.")
        front = open_front()
        work.session.resume(beside=beside)
        left = enter(work.session, front, lines)
        front.show(_told(work.session, front, len(lines) - len(left), left))
        front.show([work.resume])
    return ReadingError.exit_code if left else 0


def enter(session: Session, front: Front, lines: list[SheetLine]) -> list[tuple[SheetLine, str]]:
    """Enter lines in the order in which the checklist can take them; what is left, with why.

    What is left is kept as a note.
    """
    from expert.errors import ReadingError

    waiting, refused = list(lines), list[tuple["SheetLine", str]]()
    while waiting:
        session.catch_up()
        session.settle()
        for line in waiting:
            try:
                if not _enter(session, front, line):
                    continue
            except ReadingError as error:
                refused.append((line, str(error)))
            waiting.remove(line)
            break
        else:
            break
    left = [*refused, *((line, _why(session, line)) for line in waiting)]
    for line, why in left:
        session.note(f"From the sheet, not entered: {line.text} ({why})")
    return left


def _enter(session: Session, front: Front, line: SheetLine) -> bool:
    """Whether a line could be entered now. Raises ReadingError where it is refused."""
    from expert.errors import ReadingError
    from expert.procedure.answering import NeedsConfirmation

    if line.key and session.confirm(line.key, line.value):
        return True
    current = session.current
    if line.value == STARTED:
        return not session.start(line.key, _ago(session, line))
    if current is not None and line.key == current.key and not current.quantity:
        outcome = session.answer(line.value)
        assert not isinstance(outcome, NeedsConfirmation)
        return True
    before = session.picture.closed.get(line.key)
    if before is not None and before.text("text") == line.value:
        return True  # the same sheet a second time
    offered = {each.active.key: each for each in session.open_now()}
    if line.key:
        offer = offered.get(line.key)
        if offer is None or (offer.why_not and not offer.closed):
            return False
        took = session.take_at(line.key, line.with_time)
        if took.question and _stands_by(front, f"{took.title}: {took.question}"):
            took = session.take_at(line.key, line.with_time, sure=True)
        elif took.question:
            session.note(f"From the sheet, left out when asked: {line.text}")
        return True
    named = session.take(line.with_time)
    if named is None:
        near = session.nearest_reading(line.with_time)
        raise ReadingError(f"it names no reading of this checklist. {near}".rstrip())
    if named.question and _stands_by(front, f"{named.title}: {named.question}"):
        session.take(line.with_time, sure=True)
    return True


def _ago(session: Session, line: SheetLine) -> str:
    """When a clock was started, as its step takes it."""
    from expert.procedure.reading_time import when_read

    if not line.time:
        return ""
    now = session.now()
    minutes = (now - when_read(line.time, now)).total_seconds() / 60
    return f"{minutes:.2f} min"


def _stands_by(front: Front, question: str) -> bool:
    from expert.cli.job.choose_site import one_of
    from expert.errors import Stopped

    front.show(front.layout.text(question))
    try:
        return one_of(front, ["yes", "no"], "y/n> ") == "yes"
    except Stopped:
        raise Stopped("Stopped; what was entered is kept, the same command goes on.") from None


def _why(session: Session, line: SheetLine) -> str:
    if line.value == STARTED:
        return session.start(line.key, _ago(session, line))
    found = [each for each in session.open_now() if each.active.key == line.key]
    return found[0].why_not if found and found[0].why_not else "the checklist does not ask it now"


def _told(
    session: Session, front: Front, entered: int, left: list[tuple[SheetLine, str]]
) -> list[str]:
    lines = front.layout.text(f"{entered} of {entered + len(left)} lines were entered.")
    reasons: dict[str, list[str]] = {}
    for line, why in left:
        reasons.setdefault(why, []).append(line.text)
    for why, texts in reasons.items():
        lines += front.layout.listed("-", f"kept as a note: {'; '.join(texts)}: {why}")
    missing = [each for each in session.open_now() if each.asked and not each.closed]
    if missing:
        lines += front.layout.text(f"Still to be read: {len(missing)}. Go on with:")
    return lines
