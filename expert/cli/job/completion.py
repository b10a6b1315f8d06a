"""Completion in the shell: what argcomplete asks while a command line is typed."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
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

        line = os.environ.get("COMP_LINE", "")
        argcomplete.autocomplete(parser_of(commands, line), always_complete_options=False)


def parser_of(
    commands: Mapping[str, tuple[str, str]], line: str = ""
) -> argparse.ArgumentParser:  # fmt: skip
    """One parser with every command and action, its names completed by what is there.

    What an action takes is known of the one that stands in the line.
    """
    parser = argparse.ArgumentParser(prog="rackwalk")
    below = parser.add_subparsers()
    for name, (module, says) in commands.items():
        _add(below.add_parser(name, help=says, add_help=False), name, module, line.split()[1:3])
    return parser


def _add(parser: argparse.ArgumentParser, name: str, module: str, typed: Sequence[str]) -> None:
    command = import_module(f"expert.cli.{module}")
    actions: Mapping[str, str] = getattr(command, "ACTIONS", {}) if name in _ACTIONS else {}
    action = typed[1] if len(typed) > 1 and typed[0] == name else ""
    if actions:
        parser.add_argument("action", choices=tuple(actions))
        if action not in actions:
            parser.add_argument("rest", nargs="*").completer = jobs  # type: ignore[attr-defined]
            return
        modules: Mapping[str, str] = getattr(command, "_MODULES", {})
        folder = module.partition(".")[0]
        command = import_module(f"expert.cli.{folder}.{modules.get(action, action)}")
    with suppress(TypeError):  # calc has options of its own for each formula
        command.add_arguments(*((parser, action) if name == "refrigerant" else (parser,)))
    for option in parser._actions:
        if found := BELOW.get(f"{name} {action} {option.dest}", COMPLETERS.get(option.dest)):
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


def parts(prefix: str = "", **more: object) -> list[str]:
    """What a value of a store can belong to: the store itself, and its racks and circuits."""
    return ["site", *subjects(prefix, **more)]  # type: ignore[arg-type]


def values(prefix: str = "", **_: object) -> list[str]:
    """What can be said of a part of a store: its facts and its values, by their titles."""
    from expert.cli.job.load_knowledge import load_rules
    from expert.sites.data import FACTS, LAW

    with suppress(RackwalkError):
        known = load_rules(None).quantities.values()
        return [*FACTS, LAW, *(each.title for each in known if each.given == "site")]
    return [*FACTS, LAW]


def words_of_value(
    prefix: str = "", parsed_args: argparse.Namespace | None = None, **_: object
) -> list[str]:
    """The words that a value of a store can have; nothing for a number."""
    from expert.cli.job.load_knowledge import load_rules
    from expert.knowledge.fact_words import fact_words
    from expert.knowledge.synonyms import called, plain_name

    named = plain_name(str(getattr(parsed_args, "what", "")))
    if words := fact_words().get(named.replace(" ", "_")):
        return list(words)
    with suppress(RackwalkError):
        return [word for each in called(named, load_rules(None).quantities.values())
                for word in each.choices]  # fmt: skip
    return []


COMPLETERS: Mapping[str, Callable[..., Iterable[str]]] = {
    "checklist": checklists, "what": checklists, "job": jobs, "begun_from": jobs,
    "subject": subjects, "site": stores, "refrigerant": refrigerants,
}  # fmt: skip
# Of one action: what is named there is something else elsewhere.
BELOW: Mapping[str, Callable[..., Iterable[str]]] = {
    "site set part": parts, "site set what": values, "site set value": words_of_value,
    "site show name": stores, "site check name": stores,
}  # fmt: skip
