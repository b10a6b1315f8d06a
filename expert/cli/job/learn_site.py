"""What a job knows of its store is offered to the store, with who and when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from expert.cli.job.which_site import kept_named, site_of_kept
from expert.errors import UsageError
from expert.sites.learned import JobTells, Learned, learned, sentence
from expert.terminal.front import Front, LeaveError, Question

if TYPE_CHECKING:
    from expert.cli.job.open_job import Work
    from expert.knowledge.model import Rulebase
    from expert.procedure.picture import Picture
    from expert.procedure.runner import Runner
    from expert.store.job_row import Job
    from expert.store.jobs import JobStore
    from expert.store.kept_sites import KeptSite


@dataclass(frozen=True)
class JobDone:
    """A job with what it holds, for the store it was done at."""

    job: Job
    store: JobStore
    runner: Runner
    rules: Rulebase
    picture: Picture


def done_of(work: Work) -> JobDone:
    """What a job that a program has open holds."""
    return JobDone(
        work.job, work.store, work.runner, work.evaluator.rulebase, work.session.picture
    )  # fmt: skip


def store_of(done: JobDone) -> KeptSite | None:
    """The kept store of a job, None where it was done by a site file."""
    from expert.store.kept_sites import kept_sites

    found = kept_named(done.job.site, kept_sites(done.store.database))
    return found if found is not None and found.name == done.job.site else None


def found_in(done: JobDone) -> list[Learned]:
    """What the job says of its store and the store, as it is kept now, does not.

    Raises UsageError where the store is not kept.
    """
    kept = store_of(done)
    if kept is None:
        raise UsageError(
            f"The store '{done.job.site}' is not kept here, it is a site file: take it in with "
            "'rackwalk site keep FILE', or put the values into the file."
        )
    site, job = site_of_kept(kept, done.rules), done.job
    who = job.who or done.runner.signed_by(done.picture)
    told = JobTells(site, job.subject, done.rules, job.units, who)
    return learned(done.picture, done.runner.plan(done.picture), told)


def ask_which(front: Front, found: Sequence[Learned]) -> list[Learned]:
    """Those that a person wants kept: first what is new, then what the store says otherwise."""
    new = [each for each in found if not each.was]
    other = [each for each in found if each.was]
    wanted = _some(
        front, "This job knows of the store what is not kept there:", new, "Keep it for the store?"
    )
    return wanted + _some(
        front, "Here the store says otherwise; nothing of it is overwritten unasked:", other,
        "Put it in the place of what stands there?",
    )  # fmt: skip


def _some(front: Front, heading: str, found: Sequence[Learned], question: str) -> list[Learned]:
    """All, none, or some by their numbers."""
    if not found:
        return []
    layout = front.layout
    lines = layout.text(heading)
    for number, each in enumerate(found, 1):
        lines += layout.listed(str(number), sentence(each), 2)
    lines += layout.text(f"{question} y all, n none, or the numbers of some.")
    front.show(lines)

    def wrong(text: str) -> str:
        words = text.lower().replace(",", " ").split()
        if words in (["y"], ["yes"], ["n"], ["no"]):
            return ""
        if words and all(w.isdecimal() and 1 <= int(w) <= len(found) for w in words):
            return ""
        return f"'{text}' is none of them. Type y, n, or numbers with spaces between."

    while True:
        try:
            typed = front.ask(Question(f"y/n/1-{len(found)}> ", check=wrong))
        except (LeaveError, KeyboardInterrupt):
            return []
        if not (refused := wrong(typed)):
            break
        front.show(layout.text(refused))
    words = typed.lower().replace(",", " ").split()
    if words[0] in ("y", "yes"):
        return list(found)
    return [found[int(word) - 1] for word in dict.fromkeys(words) if word.isdecimal()]


def keep_learned(done: JobDone, wanted: Sequence[Learned], who: str) -> list[str]:
    """Keep values for the store of a job; what was kept, in lines, and what gave way to it."""
    from datetime import UTC, datetime

    from expert.cli.job.ask_site import data_of_kept, told_kept
    from expert.cli.job.load_knowledge import site_of_text
    from expert.sites.data import set_row, set_value, text_of
    from expert.store.kept_sites import keep_site

    kept = store_of(done)
    if kept is None or not wanted:
        return ["Nothing was kept for the store."]
    data = data_of_kept(kept)
    for each in wanted:
        if each.row:
            set_row(data, each.on, each.quantity.id, dict(each.row), dict(each.instead))
        else:
            set_value(data, each.on, each.quantity.id, each.text)
    text = text_of(data)
    site = site_of_text(text, f"store {kept.name}", done.rules)
    why = f"job {done.job.id}: " + "; ".join(sentence(each) for each in wanted)
    made = keep_site(
        done.store.database, kept.name, text, at=datetime.now(UTC), who=who or done.job.who,
        why=why, after=kept.version,
    )  # fmt: skip
    gave_way = [
        f"In the place of what stood there: {each.on}, {each.quantity.title}: {each.text} "
        f"(was {each.was})."
        for each in wanted
        if each.was
    ]
    return [*gave_way, told_kept(made, site)]


def offer(work: Work, front: Front) -> None:
    """At the end of a job a person is asked; without one a line says what to type."""
    done = done_of(work)
    if store_of(done) is None or not (found := found_in(done)):
        return
    if front.interactive:
        front.show(["", *keep_learned(done, ask_which(front, found), work.session.who)])
    else:
        what = f"This job knows {len(found)} values that the store does not:"
        front.show([*front.layout.text(what), f"rackwalk site learn {work.job.id}"])
