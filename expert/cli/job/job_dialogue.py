"""What run and resume do with an open job: the dialogue, its end, the report."""

from __future__ import annotations

import argparse
import gc
from collections.abc import Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING

from expert.cli.frame.common import backend
from expert.cli.job.cache import write_now
from expert.cli.job.ending import prepare_ending
from expert.cli.job.open_job import Work
from expert.errors import ReadingError, Stopped
from expert.inference.sentences import first_up
from expert.procedure.closing import in_words
from expert.procedure.screens import WORKING
from expert.terminal.dialogue import Dialogue
from expert.terminal.front import Front, LeaveError
from expert.terminal.open_together import answer_together
from expert.terminal.texts import Texts

if TYPE_CHECKING:
    from expert.procedure.answers import Answers
    from expert.report.context import Seal
    from expert.store.jobs import JobStore


NOTHING: Mapping[str, str] = {}


def texts_of(work: Work, options: argparse.Namespace) -> Texts:
    """The texts of a job at the depth asked for, or at that at which it was left."""
    session = work.session
    depth = options.depth or (session.depth if session.depth_chosen else WORKING)
    return Texts(work.runner, work.evaluator, depth=depth)


def walk(
    work: Work, front: Front, options: argparse.Namespace, told: Mapping[str, str] = NOTHING
) -> int:
    """Ask until the checklist is finished (0, with the report written) or the person stops (5).

    `told` are answers that were given before the job was begun, by quantity.
    """
    texts = texts_of(work, options)
    dialogue = Dialogue(work.session, texts, front)
    begun = _begin(work, front, dialogue, options, told)
    if begun:
        work.session.work_order(getattr(options, "order", ""))
    if not (begun and dialogue.run(texts.depth)):
        with work.store.database.transaction():
            pass  # raises where the file was moved away or the server is gone: nothing is kept then
        with suppress(LeaveError):
            front.show(["", *front.layout.text("Stopped; all that was entered is kept.")])
            front.show([work.resume])
        return Stopped.exit_code
    finish(work, front, options)
    return 0


def _prepare(work: Work) -> None:
    """What the first answers would wait for, while the person still reads; then nothing of it is
    looked through for garbage again, which takes a tenth of a second each time."""
    with suppress(Exception):  # what is wrong is told where it is needed
        work.evaluator.prepare()
        prepare_ending(work.runner)
        write_now()
        gc.freeze()


def _begin(
    work: Work, front: Front, dialogue: Dialogue, options: argparse.Namespace,
    told: Mapping[str, str],
) -> bool:  # fmt: skip
    layout = front.layout
    lines: list[str] = []
    for change in work.changed:
        lines += layout.named("Note", change)
    if all(entry.kind == "history" for entry in work.session.picture.entries):
        texts = texts_of(work, options)
        lines += texts.opening(work.job.site, layout) + texts.past.opening(layout)
        lines += _enter_told(work, front, told)
        if not _ask_of_earlier(work, front):
            return False
        if not dialogue.begin([*lines, *layout.named("Job", work.job.id)], partial(_prepare, work)):
            return False
        try:
            answer_together(work.session, front)
        except LeaveError:
            return False
        return True
    if front.interactive:
        Thread(target=_prepare, args=(work,), daemon=True).start()
    begun = f"{work.job.created.astimezone():%Y-%m-%d %H:%M}"
    lines += layout.text(
        f"Going on: {work.runner.checklist.title}, {work.job.subject}, {work.job.site}. "
        f"Begun {begun}, {len(work.session.picture.closed)} answers so far. "
        "Type ? for help, c for the list of steps."
    )
    lines += layout.named("Job", work.job.id)
    try:
        front.show(lines)
    except LeaveError:
        return False
    return True


def _enter_told(work: Work, front: Front, told: Mapping[str, str]) -> list[str]:
    """Enters what was told before the job was begun, as far as it is asked first; what it was."""
    lines: list[str] = []
    if not told:
        return lines  # what is asked first is planned while the first prompt is read
    while (asked := work.session.current) is not None and asked.quantity in told:
        title = first_up(work.evaluator.rulebase.quantities[asked.quantity].title)
        work.session.answer(told[asked.quantity])
        entered = work.session.picture.entries[-1]
        lines += front.layout.named(title, entered.text("value"))
    return lines


def play_file(work: Work, answers: Answers) -> None:
    """Answer from a file. Raises ReadingError at the first answer that is missing or refused."""
    from expert.procedure.scripted import play

    try:
        for _ in play(work.session, answers):
            pass
    except ReadingError as error:
        kept = "What was entered is kept; go on by hand with:"
        raise ReadingError(f"{error}\n{kept}\n{work.resume}") from None


def finish(work: Work, front: Front, options: argparse.Namespace) -> None:
    """Keep the job in short, write the report and say where it is."""
    from expert.cli.job.hand_over import hand_over
    from expert.cli.job.job_summaries import keep

    _ask_outcomes(work, front)
    keep(work)
    path = write(work, options, options.report)
    layout = front.layout
    report = "Finished. Every step is closed and what was opened is put back."
    if closed := in_words(work.session.picture.closed_as):
        report = f"Closed without being done, {closed}. What was opened is put back."
    lines = ["", *layout.text(report)]
    lines += texts_of(work, options).ending(work.session.picture, layout)
    lines.append(f"Report: {path}")
    if commands := hand_over(work):
        lines += layout.text("Go on with the same readings:") + commands
    with suppress(LeaveError):
        _offer_to_the_store(work, front)
        front.show(lines)


def _offer_to_the_store(work: Work, front: Front) -> None:
    from expert.cli.job.learn_site import offer

    offer(work, front)


def _ask_of_earlier(work: Work, front: Front) -> bool:
    """A person is asked what the findings of the last jobs here were; whether to go on."""
    if not front.interactive:
        return True
    from expert.store.find_jobs import last_finished

    if not last_finished(work.store.database, work.job.site, work.job.subject, 1):
        return True
    from expert.cli.job.ask_outcome import ask_of_earlier

    try:
        return ask_of_earlier(front, work.store, work.job, work.evaluator.rulebase)
    except KeyboardInterrupt:
        return False


def _ask_outcomes(work: Work, front: Front) -> None:
    """A person is asked at closing whether what was found was confirmed."""
    if not front.interactive:
        return
    from expert.cli.job.ask_outcome import ask
    from expert.procedure.picture import fold

    with suppress(LeaveError, KeyboardInterrupt):
        ask(front, work.store, work.job, work.evaluator.rulebase, work.session.who)
    work.session.picture = fold(work.store.entries(work.job.id))


def seal_of(store: JobStore, job_id: str) -> Seal:
    """The hash with which a job ends, and what of it is not as it was written."""
    from expert.report.context import Seal

    return Seal(store.get(job_id).chain, store.altered(job_id))


def write(work: Work, options: argparse.Namespace, path: Path | None) -> Path:
    """Write the report to a path or to its usual place; gives the path."""
    from expert.report.render import write_report

    path = path or work.report_path
    entries = work.session.picture.entries
    seal = seal_of(work.store, work.job.id)
    write_report(work.job, entries, work.runner, path, backend=backend(options), seal=seal)
    return path
