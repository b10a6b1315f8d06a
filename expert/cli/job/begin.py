"""A new job, walked with a person or played from a file of answers."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from expert.knowledge.site import Site, Subject
    from expert.terminal.front import Front


def begin(
    options: argparse.Namespace, site: Site | None = None, told: Mapping[str, str] | None = None
) -> int:
    """Begin a job and walk it, on a site that was read already or that of the options.

    `told` are answers that a person gave before the job was begun, by quantity; each is entered
    where it is asked first.
    """
    from expert.cli.job.cache import write_later
    from expert.cli.job.job_dialogue import finish, play_file, walk
    from expert.cli.job.load_knowledge import load_rules
    from expert.cli.job.open_job import prepare, start
    from expert.cli.job.remember import remember_site, remember_who
    from expert.terminal.choose import ask_who, open_front

    front = open_front(options.plain or options.answers is not None)

    def ask(subjects: Sequence[Subject]) -> str:
        return _ask_subject(subjects, front)

    asking = options.answers is None and front.interactive
    if asking:
        write_later()
    if asking and not options.who:
        options.who = ask_who(front)
        remember_who(options.who)
    elif asking and (where := getattr(options, "standing", {}).get("who")):
        front.show(front.layout.text(f"You are {options.who}, by {where}; --who names another."))
    rules = load_rules(options.rulebase)
    if site is None and not getattr(options, "begun_from", None):
        from expert.cli.job.choose_site import site_for_job

        site = site_for_job(options, front if asking else None, rules)
        if asking and remember_site(site, options.site):
            front.show(front.layout.text(f"Store from now on: {site.name}; --site names another."))
    prepared = prepare(options, ask if asking else None, site, rules)
    answers = None
    if options.answers is not None:
        from expert.procedure.read_answers import load_answers

        answers = load_answers(options.answers, prepared.checklist)
    work = start(prepared, options)
    try:
        if answers is None:
            return walk(work, front, options, told or {})
        work.session.work_order(getattr(options, "order", ""))
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
