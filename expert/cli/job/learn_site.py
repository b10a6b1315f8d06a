"""What a job knows of its store is offered to the store, with who and when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from expert.cli.job.which_site import kept_named, site_of_kept
from expert.errors import UsageError
from expert.sites.learned import READ, SET, JobTells, Learned, learned
from expert.terminal.front import Front, LeaveError, Question

if TYPE_CHECKING:
    from expert.cli.job.open_job import Work
    from expert.store.kept_sites import KeptSite


def store_of(work: Work) -> KeptSite | None:
    """The kept store of a job, None where it was done by a site file."""
    from expert.store.kept_sites import kept_sites

    found = kept_named(work.job.site, kept_sites(work.store.database))
    return found if found is not None and found.name == work.job.site else None


def found_in(work: Work) -> list[Learned]:
    """What the job says of its store and the store, as it is kept now, does not.

    Raises UsageError where the store is not kept.
    """
    kept = store_of(work)
    if kept is None:
        raise UsageError(
            f"The store '{work.job.site}' is not kept here, it is a site file: take it in with "
            "'rackwalk site keep FILE', or put the values into the file."
        )
    rules, picture = work.evaluator.rulebase, work.session.picture
    site, job = site_of_kept(kept, rules), work.job
    who = job.who or work.runner.signed_by(picture)
    told = JobTells(site, job.subject, rules, job.units, who)
    return learned(picture, work.runner.plan(picture), told)


def sentence(each: Learned) -> str:
    """'A4, drip time setting: 5 min, found set by A. Sample on 2026-03-14 (the store says ...)'."""
    how = {READ: "as found", SET: "set"}.get(each.how, each.how)
    who = f" by {each.who}" if each.who else ""
    was = f"; the store says {each.was}" if each.was else ""
    at = f"{each.at.astimezone():%Y-%m-%d}"
    beside = f" ({', '.join(text for _, text in each.row[:-1])})" if each.row else ""
    photo = f" (photo: {each.photo})" if each.photo else ""
    return f"{each.on}, {each.quantity.title}{beside}: {each.text}, {how}{who} on {at}{photo}{was}"


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


def keep_learned(work: Work, wanted: Sequence[Learned], who: str) -> list[str]:
    """Keep values for the store of a job; what was kept, in lines, and what gave way to it."""
    from datetime import UTC, datetime

    from expert.cli.job.ask_site import data_of_kept, told_kept
    from expert.cli.job.load_knowledge import site_of_text
    from expert.sites.data import set_row, set_value, text_of
    from expert.store.kept_sites import keep_site

    kept = store_of(work)
    if kept is None or not wanted:
        return ["Nothing was kept for the store."]
    data = data_of_kept(kept)
    for each in wanted:
        if each.row:
            set_row(data, each.on, each.quantity.id, dict(each.row), dict(each.instead))
        else:
            set_value(data, each.on, each.quantity.id, each.text)
    text = text_of(data)
    site = site_of_text(text, f"store {kept.name}", work.evaluator.rulebase)
    why = f"job {work.job.id}: " + "; ".join(sentence(each) for each in wanted)
    made = keep_site(
        work.store.database, kept.name, text, at=datetime.now(UTC), who=who or work.job.who,
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
    if store_of(work) is None or not (found := found_in(work)):
        return
    if front.interactive:
        front.show(["", *keep_learned(work, ask_which(front, found), work.session.who)])
    else:
        what = f"This job knows {len(found)} values that the store does not:"
        front.show([*front.layout.text(what), f"rackwalk site learn {work.job.id}"])
