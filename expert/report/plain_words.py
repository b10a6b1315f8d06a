"""Causes in the words of a store manager: read from reports/plain.yaml, not from Python."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from expert.errors import PackError
from expert.knowledge.model import Cause
from expert.knowledge.reader import Reader
from expert.knowledge.yaml_nodes import Fields, Node, read_yaml
from expert.places import shipped

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
def plain() -> Plain:
    """The plain words of the shipped file. Raises PackError."""
    reader = Reader()
    root = reader.fields(read_yaml(shipped("reports") / "plain.yaml"), "plain words", _KEYS, _KEYS)
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
    node = root.fields[section] if root else None
    return tuple(node.fields.items()) if isinstance(node, Fields) else ()
