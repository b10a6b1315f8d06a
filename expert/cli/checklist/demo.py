"""`rackwalk demo`: a recorded job, walked in front of you."""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass
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
Walks a recorded job. Shown are a few of its steps, what was found and why, the adjustment measured
again, what to type next, and the path of the report; --whole shows each step with its answer, the
cautions and what the rules think. The store, its people and every number are invented. The job
is kept like any other: 'rackwalk jobs' lists it."""
EXAMPLES = """\
  rackwalk demo
  rackwalk demo --list
  rackwalk demo --whole
  rackwalk demo leaking-stop --fast"""
_PAUSE = 0.12  # s a step, so that it can be seen to walk
_A_WORD = 0.17  # s; short lines with few new words (own choice)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="which one (default: the first)")
    parser.add_argument("--list", action="store_true", help="list the demo jobs")
    parser.add_argument("--whole", action="store_true", help="show every step")
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
    from expert.cli.checklist.demo_story import what_next
    from expert.cli.job.job_dialogue import texts_of, write
    from expert.cli.job.open_job import prepare, start
    from expert.places import shipped
    from expert.terminal.front import LeaveError
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
        paused = not options.fast and sys.stdout.isatty()
        told = Shown(front, _PAUSE if options.whole else 0.0, 0.0 if options.whole else _A_WORD)
        told = told if paused else Shown(front)
        few = () if options.whole else job.shows
        _walk(work, job, clock, told, texts_of(work, options), few)
        path = write(work, options, None)
        front.show(["", *what_next(work, front.layout)])
        front.show(["", *front.layout.text("The demo job is finished. Its report:"), str(path)])
    except LeaveError:  # nobody reads on
        return 0
    finally:
        work.store.close()
    return 0


@dataclass(frozen=True)
class Shown:
    """A front, with time to read: seconds after each part, and for each of its words."""

    front: Front
    part: float = 0.0
    word: float = 0.0

    def __call__(self, lines: list[str]) -> None:
        """Show some lines and wait until they can have been read."""
        self.front.show(lines)
        time.sleep(self.part + self.word * len(" ".join(lines).split()))


def _read_to(session: Session, before: Picture, active: Active) -> datetime | None:
    """What a clock was read at, if the step read one: the made-up time goes on to there."""
    entry = session.picture.closed.get(active.key)
    running = session.runner.elapsed(before, active, session.now())
    seconds = entry.data.get("value") if entry and active.step.type == "time" else None
    if running is None or not isinstance(seconds, int | float):
        return None
    return running.started + timedelta(seconds=seconds)


def _walk(
    work: Work, job: DemoJob, clock: DemoClock, show: Shown, texts: Texts, few: tuple[str, ...]
) -> None:
    """Play the job; only the steps of `few` are shown, where there are some."""
    from expert.cli.checklist.demo_story import found, opening, short_step, so_far, told_of
    from expert.procedure.read_answers import load_answers
    from expert.procedure.scripted import play
    from expert.terminal.step_view import StepView

    session, runner, front = work.session, work.runner, show.front
    layout = front.layout
    show(["", *(opening(work, layout) if few else texts.opening(work.job.site, layout))])
    steps = play(session, load_answers(job.answers, runner.checklist))
    while (active := session.current) is not None:
        before = session.picture
        clock.wait_until(runner.due(before, active, clock()))
        at = StepView(before, active, clock(), front.layout)
        shown, standing = texts.step(at), texts.standing(at)
        played = next(steps)
        if few:
            shown = short_step(active, runner.rulebase, front.layout)
            if active.step.type == "adjust" and active.step.id in few:
                show(["", *so_far(session.evaluation(), front.layout)])
        lines = ["", *shown, f"{texts.label(active)}{played.text or '(Enter)'}"]
        for entry in session.picture.entries[len(before.entries) :]:
            clock.passed(entry)
            if entry.kind == "note":
                lines += front.layout.named("Note", entry.text("text"))
        if played.question:
            lines += front.layout.named("Asked again, and confirmed", played.question)
        clock.wait_until(_read_to(session, before, active))
        after = StepView(session.picture, active, clock(), front.layout)
        told = texts.after(standing, after)
        if few:
            told = told_of(told, [runner.rulebase.quantities[name].title for name in job.tells])
        if not few or active.step.id in few:
            show(lines + told)
    ending = texts.ending(session.picture, layout)
    show(["", *(found(session, layout) if few else ending)])
