"""Causes in the words of a store manager: read from reports/plain.yaml, not from Python.

A pack has a file of the same form in its folder reports/; what it says wins.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from expert.errors import PackError, nearest
from expert.knowledge.model import Cause, Rulebase
from expert.knowledge.pack_files import REPORTS, pack_folders
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, read_yaml
from expert.places import shipped

FILE = "plain.yaml"
_KEYS = ("systems", "causes")
_PART = ("says", "watch")


@dataclass(frozen=True)
class Plain:
    """What a part of the plant is and what to watch there; a sentence for each cause.

    `watches` has what to watch for the causes where it is not what their part of the plant says.
    """

    systems: Mapping[str, tuple[str, str]]
    causes: Mapping[str, str]
    watches: Mapping[str, str]

    def says(self, cause: Cause) -> str:
        """The cause in a plain sentence; without one its part of the plant and its title."""
        if cause.id in self.causes:
            return self.causes[cause.id]
        part = self.systems.get(cause.system)
        return f"{part[0]} ({cause.title})" if part else f"{cause.title}."

    def watch(self, cause: Cause) -> str:
        """What the store can watch; empty where the part of the plant is not known."""
        part = self.systems.get(cause.system)
        return self.watches.get(cause.id, part[1] if part else "")


@cache
def plain(pack: Path | None = None) -> Plain:
    """The plain words of the shipped file, and over them those of a pack and of the packs below.

    Raises PackError.
    """
    found = _words_in(shipped(REPORTS) / FILE)
    for folder in reversed(pack_folders(pack) if pack else ()):
        if (path := folder / REPORTS / FILE).is_file():
            own = _words_in(path)
            found = Plain(
                {**found.systems, **own.systems},
                {**found.causes, **own.causes},
                {**found.watches, **own.watches},
            )
    return found


def check_plain(pack: Path, rulebase: Rulebase) -> None:
    """Raises PackError where a pack has plain words for what the rulebase does not know."""
    path = pack / REPORTS / FILE
    if not path.is_file():
        return
    _words_in(path)
    reader, root = Reader(), read_yaml(path)
    systems = {cause.system for cause in rulebase.causes.values()}
    known: tuple[tuple[str, str, Collection[str]], ...] = (
        ("causes", "cause", rulebase.causes), ("systems", "part of the plant", systems)
    )  # fmt: skip
    for section, what, names in known:
        node = root.fields.get(section) if isinstance(root, Fields) else None
        for name in node.fields if isinstance(node, Fields) else ():
            if name not in names and isinstance(node, Fields):
                message, place = f"There is no {what} '{name}'.", node.key_place(name)
                reader.problem("unknown-name", message, place, nearest(name, names))
    if reader.problems:
        raise PackError(reader.problems)


def _words_in(path: Path) -> Plain:
    reader = Reader()
    root = reader.fields(read_yaml(path), "plain words", _KEYS, ())
    systems: dict[str, tuple[str, str]] = {}
    causes: dict[str, str] = {}
    watches: dict[str, str] = {}
    for name, node in _each(root, "systems"):
        if part := reader.fields(node, name, _PART, _PART):
            says, watch = (reader.text(part.fields[key], key) for key in _PART)
            systems[name] = (says, watch)
    for name, node in _each(root, "causes"):
        if not isinstance(node, Fields):
            causes[name] = reader.text(node, name)
        elif part := reader.fields(node, name, _PART, _PART):
            causes[name], watches[name] = (reader.text(part.fields[key], key) for key in _PART)
    if reader.problems:
        raise PackError(reader.problems)
    return Plain(systems, causes, watches)


def _each(root: Fields | None, section: str) -> tuple[tuple[str, Node], ...]:
    node = root.fields.get(section) if root else None
    return tuple(node.fields.items()) if isinstance(node, Fields) else ()
