"""Which store a command is about: a site file, or a store kept with the jobs, by its name."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.job.load_knowledge import load_site_file, site_of_text
from expert.errors import UsageError, nearest

if TYPE_CHECKING:
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.store.kept_sites import KeptSite

_NEW = "'rackwalk site new' begins one"


def kept_in(place: Path | str | None) -> dict[str, KeptSite]:
    """The stores kept with the jobs, the newest version of each by its name."""
    from expert.store.jobs import JobStore
    from expert.store.kept_sites import kept_sites
    from expert.store.paths import job_place, there_are_jobs

    at = job_place(place)
    if not there_are_jobs(at):
        return {}
    with closing(JobStore(at)) as store:
        return kept_sites(store.database)


def kept_named(name: str, kept: dict[str, KeptSite]) -> KeptSite | None:
    """A kept store by its name, or by a beginning that only one has."""
    wanted = " ".join(name.lower().split())
    for each in kept.values():
        if each.name.lower() == wanted:
            return each
    begins = [each for each in kept.values() if each.name.lower().startswith(wanted)]
    return begins[0] if len(begins) == 1 and wanted else None


def named_site(wanted: Path | str, rules: Rulebase, place: Path | str | None) -> Site:
    """The store of a file, or of a name that is kept. Raises UsageError or PackError."""
    path = Path(wanted)
    if path.exists() or path.suffix.lower() in (".yaml", ".yml"):
        return load_site_file(path, rules)
    kept = kept_in(place)
    if found := kept_named(path.name, kept):
        return site_of_kept(found, rules)
    hint = nearest(path.name, kept)
    there = f"Kept here: {', '.join(kept)}." if kept else f"No store is kept here; {_NEW}."
    raise UsageError(f"There is no site file and no store '{path.name}'. {hint or there}")


def site_of_kept(kept: KeptSite, rules: Rulebase) -> Site:
    """The checked site of a kept store. Raises PackError."""
    return site_of_text(kept.text, f"store {kept.name}, version {kept.version}", rules)
