"""The one way from folders and files to checked knowledge: kept between runs, quick to load."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from expert.cli.frame.judged_by import tell
from expert.cli.job.cache import cached, uncollected
from expert.knowledge.pack_files import checklist_folders, rulebase_files
from expert.places import shipped

if TYPE_CHECKING:  # the models are imported when something is loaded: --help needs none
    from expert.knowledge.memory import Memory
    from expert.knowledge.model import Rulebase
    from expert.knowledge.site import Site
    from expert.procedure.checklist import Checklist


@uncollected()
def load_rules(folder: Path | None) -> Rulebase:
    """The rulebase of a folder, or the shipped one, without the tests of its rules.

    Raises PackError.
    """
    from expert.knowledge.model import Rulebase

    place = folder or shipped("rulebase")

    def make() -> Rulebase:
        return _read(place, proof=False)  # what only an author needs is nothing for a technician

    found = cached(Rulebase, rulebase_files(place), make, str(place))
    tell(found.info, folder)
    return _with_refrigerants(found)


@uncollected()
def load_rules_with_tests(folder: Path | None) -> Rulebase:
    """The whole rulebase of a folder, or the shipped one, for those who work on it.

    Raises PackError with every problem found.
    """
    from expert.knowledge.model import Rulebase

    place = folder or shipped("rulebase")

    found = cached(Rulebase, rulebase_files(place), lambda: _read(place), str(place), "with tests")
    return _with_refrigerants(found)


def _read(place: Path, *, proof: bool = True) -> Rulebase:
    from expert.knowledge.load_rulebase import load_rulebase

    return load_rulebase(place, memory(), proof=proof)


@cache
def memory() -> Memory:
    """What this process read of rulebases before: a second pack over the same base is quick."""
    from expert.knowledge.memory import Memory

    return Memory()


def _with_refrigerants(rules: Rulebase) -> Rulebase:
    """The rulebase, its own refrigerants known by name: that they were is not kept with it."""
    if rules.refrigerants:
        from expert.physics.fluids.own_refrigerant import carry

        carry(rules.refrigerants)
    return rules


@uncollected()
def load_checklist_file(path: Path, rules: Rulebase, folders: tuple[Path, ...] = ()) -> Checklist:
    """The checklist of a file; it may call those of its folder and of `folders`.

    Raises PackError.
    """
    from expert.procedure.checklist import Checklist

    def make() -> Checklist:
        from expert.procedure.load_checklists import load_checklist

        return load_checklist(path, rules, folders)

    beside = (each for folder in (path.parent, *folders) for each in folder.glob("*.yaml"))
    files = sorted({path, *beside})
    return cached(Checklist, files, make, rules.info.hash, str(path))


def load_all_checklists(pack: Path | None, rules: Rulebase) -> dict[str, Checklist]:
    """Every checklist by its id: of a pack and those below it, and the shipped.

    Raises PackError.
    """
    return load_checklists_of(checklist_folders(pack), rules)


@uncollected()
def load_checklists_of(folders: tuple[Path, ...], rules: Rulebase) -> dict[str, Checklist]:
    """Every checklist of some folders by its id. Raises PackError."""

    def make() -> dict[str, Checklist]:
        from expert.procedure.load_checklists import load_checklists

        return load_checklists(folders, rules)

    files = [path for folder in folders for path in sorted(folder.glob("*.yaml"))]
    return cached(dict, files, make, rules.info.hash, *map(str, folders), "checklists")


@uncollected()
def load_site_file(path: Path, rules: Rulebase) -> Site:
    """The checked site of a file, remembered while it does not change. Raises PackError."""
    from expert.knowledge.site import Site

    def make() -> Site:
        from expert.knowledge.load_site import load_site

        return load_site(path, rules)

    return cached(Site, [path], make, rules.info.hash)


@uncollected()
def site_of_text(text: str, path: str, rules: Rulebase) -> Site:
    """The site of a text as a job keeps it; `path` is for messages. Raises PackError."""
    from expert.knowledge.site import Site

    def make() -> Site:
        from expert.knowledge.load_site import parse_site

        return parse_site(text, path, rules)

    return cached(Site, [], make, path, text, rules.info.hash)
