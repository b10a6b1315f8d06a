"""What a job knows of its store is offered to the store, with who and when."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from expert.cli.job.which_site import kept_named, site_of_kept
from expert.errors import UsageError
from expert.sites.learned import SET, Learned, learned
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
    steps = [each.key for each in work.runner.plan(picture)]
    return learned(
        picture, steps, site_of_kept(kept, rules), work.job.subject, rules, work.job.units,
        work.job.who,
    )  # fmt: skip


def sentence(each: Learned) -> str:
    """'A4, drip time setting: 5 min, found set by A. Sample on 2026-03-14 (the store says ...)'."""
    how = "set" if each.how == SET else "as found"
    who = f" by {each.who}" if each.who else ""
    was = f"; the store says {each.was}" if each.was else ""
    at = f"{each.at.astimezone():%Y-%m-%d}"
    return f"{each.on}, {each.quantity.title}: {each.text}, {how}{who} on {at}{was}"


def ask_which(front: Front, found: Sequence[Learned]) -> list[Learned]:
    """Those that a person wants kept: all, none, or some by their numbers."""
    layout = front.layout
    lines = layout.text("This job knows of the store what is not kept there:")
    for number, each in enumerate(found, 1):
        lines += layout.listed(str(number), sentence(each), 2)
    lines += layout.text("Keep it for the store? y all, n none, or the numbers of some.")
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
    return [found[int(word) - 1] for word in words if word.isdecimal()]


def keep_learned(work: Work, wanted: Sequence[Learned], who: str) -> list[str]:
    """Keep values for the store of a job; what was kept, in lines."""
    from datetime import UTC, datetime

    from expert.cli.job.ask_site import data_of_kept, told_kept
    from expert.cli.job.load_knowledge import site_of_text
    from expert.sites.data import set_value, text_of
    from expert.store.kept_sites import keep_site

    kept = store_of(work)
    if kept is None or not wanted:
        return ["Nothing was kept for the store."]
    data = data_of_kept(kept)
    for each in wanted:
        set_value(data, each.on, each.quantity.id, each.text)
    text = text_of(data)
    site = site_of_text(text, f"store {kept.name}", work.evaluator.rulebase)
    why = f"job {work.job.id}: " + "; ".join(sentence(each) for each in wanted)
    made = keep_site(
        work.store.database, kept.name, text, at=datetime.now(UTC), who=who or work.job.who,
        why=why, after=kept.version,
    )  # fmt: skip
    return [told_kept(made, site)]


def offer(work: Work, front: Front) -> None:
    """At the end of a job a person is asked; without one a line says what to type."""
    if store_of(work) is None or not (found := found_in(work)):
        return
    if front.interactive:
        front.show(["", *keep_learned(work, ask_which(front, found), work.session.who)])
    else:
        what = f"This job knows {len(found)} values that the store does not:"
        front.show([*front.layout.text(what), f"rackwalk site learn {work.job.id}"])
