"""`rackwalk run`: a checklist on a circuit or rack, with a person or from a file of answers."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_rulebase, add_units
from expert.cli.frame.options import add_place, add_walking, add_who

if TYPE_CHECKING:
    from expert.knowledge.site import Subject
    from expert.terminal.front import Front

DESCRIPTION = """\
Asks step after step; every answer is on disk before the next question. Ctrl-D, q, a second
Ctrl-C or a closed terminal stops, and 'rackwalk resume' goes on at the same step.
With --answers nothing is asked: the first answer that is missing or refused ends the command
with exit code 4, and what was entered is kept.
CHECKLIST is a name of 'rackwalk list', or the path of a checklist file."""
EXAMPLES = """\
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --depth experienced
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --plain --units si
  rackwalk run hot-gas-defrost-checkout --site my-store.yaml --subject A4 --answers a4.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options of the command."""
    parser.add_argument("checklist", metavar="CHECKLIST")
    parser.add_argument("--site", type=Path, required=True, metavar="FILE", help="the site file")
    parser.add_argument("--subject", metavar="ID", help="circuit or rack of the site file")
    parser.add_argument("--answers", type=Path, metavar="FILE", help="answers instead of a person")
    add_who(parser)
    add_walking(parser)
    add_units(parser)
    add_place(parser)
    add_rulebase(parser)


def run(options: argparse.Namespace) -> int:
    """Exit code 0 when finished, 4 when a file's answer is refused, 5 when stopped."""
    from expert.cli.job.job_dialogue import finish, play_file, walk
    from expert.cli.job.open_job import prepare, start
    from expert.terminal.choose import ask_who, open_front

    front = open_front(options.plain or options.answers is not None)

    def ask(subjects: Sequence[Subject]) -> str:
        return _ask_subject(subjects, front)

    asking = options.answers is None and front.interactive
    if asking and not options.who:
        options.who = ask_who(front)
    prepared = prepare(options, ask if asking else None)
    answers = None
    if options.answers is not None:
        from expert.procedure.answers import load_answers

        answers = load_answers(options.answers, prepared.checklist)
    work = start(prepared, options)
    try:
        if answers is None:
            return walk(work, front, options)
        play_file(work, answers)
        finish(work, front, options)
        return 0
    finally:
        work.store.close()


def _ask_subject(subjects: Sequence[Subject], front: Front) -> str:
    """The id of the subject that is picked by number or name."""
    from expert.errors import Stopped
    from expert.terminal.front import LeaveError, Question

    layout = front.layout
    lines = layout.text("Which one? Type its number or its name.")
    for number, subject in enumerate(subjects, 1):
        lines += layout.listed(str(number), f"{subject.id}: {subject.title}", 2)
    front.show(lines)
    ids = {subject.id.lower(): subject.id for subject in subjects}
    ids |= {str(number): subject.id for number, subject in enumerate(subjects, 1)}

    def wrong(text: str) -> str:
        return "" if text.lower() in ids else f"'{text}' is none of them. Type a number or a name."

    while True:
        try:
            typed = front.ask(Question(f"1-{len(subjects)}> ", check=wrong))
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before a job was begun.") from None
        if not (refused := wrong(typed)):
            return ids[typed.lower()]
        front.show(layout.text(refused))
