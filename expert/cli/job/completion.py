"""Completion in the shell: what argcomplete asks while a command line is typed."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from importlib import import_module
from pathlib import Path

from expert.errors import RackwalkError
from expert.places import shipped

_ACTIONS = ("site", "jobs", "rules", "refrigerant", "packs")


def complete(commands: Mapping[str, tuple[str, str]]) -> None:
    """Answer argcomplete and leave; nothing where it is not installed."""
    with suppress(ImportError):
        import argcomplete

        argcomplete.autocomplete(parser_of(commands), always_complete_options=False)


def parser_of(commands: Mapping[str, tuple[str, str]]) -> argparse.ArgumentParser:
    """One parser with every command and action, its names completed by what is there."""
    parser = argparse.ArgumentParser(prog="rackwalk")
    below = parser.add_subparsers()
    for name, (module, says) in commands.items():
        _add(below.add_parser(name, help=says, add_help=False), name, module)
    return parser


def _add(parser: argparse.ArgumentParser, name: str, module: str) -> None:
    command = import_module(f"expert.cli.{module}")
    actions: Mapping[str, str] = getattr(command, "ACTIONS", {}) if name in _ACTIONS else {}
    if actions:
        parser.add_argument("action", choices=tuple(actions))
        parser.add_argument("rest", nargs="*").completer = jobs  # type: ignore[attr-defined]
        return
    with suppress(TypeError):  # calc has options of its own for each formula
        command.add_arguments(parser)
    for option in parser._actions:
        if found := COMPLETERS.get(option.dest):
            option.completer = found  # type: ignore[attr-defined]


def checklists(prefix: str = "", **_: object) -> Iterable[str]:
    """The names of the shipped checklists."""
    return [path.stem for path in sorted(shipped("checklists").glob("*.yaml"))]


def jobs(prefix: str = "", parsed_args: argparse.Namespace | None = None, **_: object) -> list[str]:
    """The ids of the recorded jobs, the newest first."""
    from expert.store.jobs import JobStore
    from expert.store.paths import job_place, there_are_jobs

    with suppress(RackwalkError):
        named = getattr(parsed_args, "jobs", None)
        place = job_place(named if isinstance(named, str | Path) else None)
        if there_are_jobs(place):
            with JobStore(place) as store:
                return [job.id for job in store.jobs()]
    return []


def subjects(
    prefix: str = "", parsed_args: argparse.Namespace | None = None, **_: object
) -> list[str]:
    """The racks and circuits of the store that is named or usual, else of every one kept."""
    from expert.cli.frame.settings import setting
    from expert.cli.job.load_knowledge import load_rules
    from expert.cli.job.which_site import kept_in, named_site, site_of_kept

    with suppress(RackwalkError):
        rules = load_rules(None)
        named = getattr(parsed_args, "site", None)
        usual = setting("site")
        if not isinstance(named, str | Path):
            named = usual.value if usual else None
        if named:
            return list(named_site(named, rules, None).subjects)
        kept = kept_in(None).values()
        return [name for each in kept for name in site_of_kept(each, rules).subjects]
    return []


def stores(prefix: str = "", **_: object) -> list[str]:
    """The kept stores and the site files here."""
    from expert.cli.job.which_site import kept_in

    with suppress(RackwalkError):
        return [*kept_in(None), *(str(each) for each in Path().glob(f"{prefix}*.yaml"))]
    return []


def refrigerants(prefix: str = "", **_: object) -> Iterable[str]:
    """The refrigerants that are carried."""
    from expert.physics.fluids.refrigerants import names

    return names()


COMPLETERS: Mapping[str, Callable[..., Iterable[str]]] = {
    "checklist": checklists, "what": checklists, "job": jobs, "begun_from": jobs,
    "subject": subjects, "site": stores, "refrigerant": refrigerants,
}  # fmt: skip
