"""The kept store that an action of `rackwalk site` is about."""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.common import add_pack, add_units
from expert.cli.frame.options import add_place, add_who
from expert.cli.job.which_site import kept_in, kept_named
from expert.errors import UsageError, nearest

if TYPE_CHECKING:
    from expert.store.kept_sites import KeptSite


def add_usual(parser: argparse.ArgumentParser, *, who: str = "who says so") -> None:
    """`--who`, `--units`, `--jobs`, `--rulebase`, `--plain`."""
    add_who(parser, who)
    add_units(parser)
    add_place(parser)
    add_pack(parser)


def chosen(name: str | None, place: Path | str | None) -> KeptSite:
    """The store of a name, or the only one there is. Raises UsageError."""
    kept = kept_in(place)
    if name is None and len(kept) == 1:
        return next(iter(kept.values()))
    there = f"Kept here: {', '.join(kept)}." if kept else "'rackwalk site new' begins one."
    if name is None:
        what = "Several stores are kept: say which." if kept else "No store is kept here yet."
        raise UsageError(f"{what} {there}")
    if found := kept_named(Path(name).name, kept):
        return found
    raise UsageError(f"There is no store '{name}'. {nearest(name, kept) or there}")


def folder_of(place: Path | str | None) -> Path:
    """Where what was begun is kept until it is done."""
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place

    with closing(JobStore(job_place(place))) as store:
        return store.folder
