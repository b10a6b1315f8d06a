"""`rackwalk demo`: a recorded job, walked in front of you."""

from __future__ import annotations

import argparse
import sys
import time
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, add_units
from expert.cli.frame.options import DEPTHS, add_place, depth_named

if TYPE_CHECKING:
    from expert.cli.checklist.demo_jobs import DemoClock, DemoJob
    from expert.cli.job.open_job import Work
    from expert.procedure.active import Active
    from expert.procedure.picture import Picture
    from expert.procedure.session import Session
    from expert.terminal.front import Front
    from expert.terminal.texts import Texts

DESCRIPTION = """\
Shows each step with the answer that was recorded, the cautions too, what is computed from it,
and what the rules think; ends with the path of the report. The store, its people and every
number are invented. The job is kept like any other: 'rackwalk jobs' lists it."""
EXAMPLES = """\
  rackwalk demo
  rackwalk demo --list
  rackwalk demo leaking-stop --fast"""
_PAUSE = 0.12  # s a step, so that it can be seen to walk


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="which one (default: the first)")
    parser.add_argument("--list", action="store_true", help="list the demo jobs")
    parser.add_argument("--fast", action="store_true", help="do not pause between the steps")
    parser.add_argument(
        "--depth", choices=DEPTHS, type=depth_named, default=DEPTHS[1],
        help="how much is shown of each step (default: working)",
    )  # fmt: skip
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 with the report written."""
    from expert.cli.checklist.demo_jobs import DemoClock, demo_jobs, pick_demo
    from expert.cli.job.job_dialogue import texts_of, write
    from expert.cli.job.open_job import prepare, start
    from expert.places import shipped
    from expert.terminal.line_by_line import PlainFront

    folder = shipped("checklists") / "demo"
    found = demo_jobs(folder)
    front = PlainFront()
    if options.list:
        for job in found.values():
            front.show(front.layout.named(job.name, f"{job.title} ({job.subject})"))
        return 0
    job = pick_demo(found, options.name)
    options.checklist, options.subject, options.who = job.checklist, job.subject, ""
    options.site = folder / "site.yaml"
    options.history = False  # it is as it was recorded, whatever was walked before
    clock = DemoClock(datetime.now(UTC))
    work = start(prepare(options), options, clock)
    try:
        front.show(front.layout.text(f"Demo '{job.name}': {job.title}. Everything is invented."))
        _walk(work, job, clock, front, texts_of(work, options), _pause(options.fast))
        path = write(work, options, None)
    finally:
        work.store.close()
    front.show(["", *front.layout.text("The demo job is finished. Its report:"), str(path)])
    return 0


def _pause(fast: bool) -> float:
    return 0.0 if fast or not sys.stdout.isatty() else _PAUSE


def _read_to(session: Session, before: Picture, active: Active) -> datetime | None:
    """What a clock was read at, if the step read one: the made-up time goes on to there."""
    entry = session.picture.closed.get(active.key)
    running = session.runner.elapsed(before, active, session.now())
    seconds = entry.data.get("value") if entry and active.step.type == "time" else None
    if running is None or not isinstance(seconds, int | float):
        return None
    return running.started + timedelta(seconds=seconds)


def _walk(
    work: Work, job: DemoJob, clock: DemoClock, front: Front, texts: Texts, pause: float
) -> None:
    from expert.procedure.answers import load_answers
    from expert.procedure.scripted import play
    from expert.terminal.texts import StepView

    session, runner = work.session, work.runner
    front.show(texts.opening(work.job.site, front.layout))
    steps = play(session, load_answers(job.answers, runner.checklist))
    while (active := session.current) is not None:
        before = session.picture
        clock.wait_until(runner.due(before, active, clock()))
        at = StepView(before, active, clock(), front.layout)
        shown, standing = texts.step(at), texts.standing(at)
        played = next(steps)
        lines = ["", *shown, f"{texts.label(active)}{played.text or '(Enter)'}"]
        for entry in session.picture.entries[len(before.entries) :]:
            clock.passed(entry)
            if entry.kind == "note":
                lines += front.layout.named("Note", entry.text("text"))
        if played.question:
            lines += front.layout.named("Asked again, and confirmed", played.question)
        clock.wait_until(_read_to(session, before, active))
        after = StepView(session.picture, active, clock(), front.layout)
        front.show(lines + texts.after(standing, after))
        time.sleep(pause)
    front.show(["", *texts.ending(session.picture, front.layout)])
