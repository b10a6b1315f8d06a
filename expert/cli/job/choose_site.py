"""At which store a job is done, where none is named: the one that is kept, one of several, or a
new one of which the few things are asked that the checklist needs."""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.job.open_job import find_checklist, subjects_for
from expert.cli.job.which_site import kept_in, kept_named, named_site, site_of_kept
from expert.errors import Stopped, UsageError
from expert.terminal.front import Front, LeaveError, Question

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist
    from expert.store.kept_sites import KeptSite

NEW = "new"
WHY_RUN = "asked when a job was begun"


def site_for_job(options: argparse.Namespace, front: Front | None, rules: Rulebase) -> Site:
    """The store of a new job. With a front a person is asked for what is not there yet.

    Raises UsageError where nobody can be asked, PackError for a wrong file.
    """
    if options.site is not None and not _is_kept(options.site):
        return named_site(options.site, rules, options.jobs)
    kept = kept_in(options.jobs)
    if options.site is not None:
        chosen = kept_named(Path(options.site).name, kept)
        if chosen is None:
            return named_site(options.site, rules, options.jobs)  # says what there is
    elif len(kept) == 1:
        chosen = next(iter(kept.values()))
    elif front is None:
        there = f" Kept here: {', '.join(kept)}." if kept else ""
        raise UsageError(
            "Say which store: --site NAME or FILE, or --from JOB to go on with a job; "
            f"'rackwalk site new' begins one.{there}"
        )
    else:
        chosen = _choose(kept, front) if kept else None
    if front is None:
        assert chosen is not None
        return site_of_kept(chosen, rules)
    return _completed(options, rules, chosen, front)


def _is_kept(wanted: Path) -> bool:
    path = Path(wanted)
    return not path.exists() and path.suffix.lower() not in (".yaml", ".yml")


def _choose(kept: dict[str, KeptSite], front: Front) -> KeptSite | None:
    """One of several stores; None for a new one."""
    names = list(kept)
    lines = front.layout.text("At which store?")
    for number, name in enumerate((*names, "a new store"), 1):
        lines += front.layout.listed(str(number), name, 2)
    front.show(lines)
    picked = one_of(front, [*names, NEW], f"1-{len(names) + 1}> ")
    return kept.get(picked)


def one_of(front: Front, names: list[str], label: str) -> str:
    """One of some names, by its number, itself or a beginning. Raises Stopped."""

    def found(text: str) -> str:
        typed = text.strip().lower()
        if typed.isdecimal() and 1 <= int(typed) <= len(names):
            return names[int(typed) - 1]
        begins = [each for each in names if typed and each.lower().startswith(typed)]
        exact = [each for each in names if each.lower() == typed]
        return (exact or (begins if len(begins) == 1 else [""]))[0]

    def wrong(text: str) -> str:
        return "" if found(text) else f"'{text.strip()}' is none of them. Type a number or a name."

    while True:
        try:
            typed = front.ask(Question(label, check=wrong))
        except (LeaveError, KeyboardInterrupt):
            raise Stopped("Stopped before a job was begun.") from None
        if picked := found(typed):
            return picked
        front.show(front.layout.text(wrong(typed)))


def _completed(
    options: argparse.Namespace, rules: Rulebase, kept: KeptSite | None, front: Front
) -> Site:
    """The store with what the checklist is to be run on; that is asked where it is not there."""
    checklist = find_checklist(options.checklist, rules)
    wanted = options.subject or ""
    site = site_of_kept(kept, rules) if kept is not None else None
    if site is not None and _has(site, checklist, wanted):
        front.show(front.layout.text(f"Store: {site.name}. --site names another."))
        if wanted or not (fitting := subjects_for(checklist, site)):
            return site
        ids = [each.id for each in fitting]
        lines = front.layout.text("Which one? Type its number or its name.")
        for number, each in enumerate(fitting, 1):
            lines += front.layout.listed(str(number), f"{each.id}: {each.title}", 2)
        lines += front.layout.listed(NEW, "one that is not listed", 2)
        front.show(lines)
        picked = one_of(front, [*ids, NEW], f"1-{len(ids)}, new> ")
        if picked != NEW:
            options.subject = picked
            return site
    elif site is None:
        front.show(
            front.layout.text(
                "No store is kept here yet. A few things are asked of it once; a site file can be "
                "named with --site instead."
            )
        )
    elif wanted:
        front.show(front.layout.text(f"The store {site.name} has no '{wanted}' yet."))
    from expert.cli.job.ask_site import ask_few, data_of_kept, keep_data, told_kept

    data = data_of_kept(kept) if kept is not None else None
    before = set(site.subjects) if site else set()
    kind = "rack" if checklist.subject == "rack" else "circuit"
    data = ask_few(front, rules, _folder(options), options.units, kind, data, wanted)
    now_kept, now = keep_data(data, rules, options.jobs, options.who, WHY_RUN, kept)
    front.show(["", *front.layout.text(told_kept(now_kept, now))])
    added = [each.id for each in subjects_for(checklist, now) if each.id not in before]
    if len(added) == 1:
        options.subject = added[0]
    return now


def _has(site: Site, checklist: Checklist, wanted: str) -> bool:
    if wanted:
        return wanted.lower() in {each.lower() for each in site.subjects}
    return bool(subjects_for(checklist, site))


def _folder(options: argparse.Namespace) -> Path:
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    with closing(JobStore(job_place(options.jobs))) as store:
        return store.folder
