"""Keys that were called otherwise before: still read, and renewed by `rackwalk rules format`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from expert.knowledge.yaml_nodes import Fields, Items, Node, read_yaml

RENAMED = {
    "quantities": {"lasting": "carried_over"},
    "cautions": {"beyond_looking": "access"},
}
_WORDS = tuple(old for names in RENAMED.values() for old in names)


def renewed(section: str, entry: Node) -> Node:
    """An entry of a section with its keys as they are called now.

    Where the old and the new key stand beside each other nothing is done: the old one is then
    told as unknown.
    """
    names = RENAMED.get(section)
    if (
        not names
        or not isinstance(entry, Fields)
        or not any(_is_old(entry, key, names) for key in entry.fields)
    ):
        return entry
    called = {key: names[key] if _is_old(entry, key, names) else key for key in entry.fields}
    return entry._replace(
        fields={called[key]: node for key, node in entry.fields.items()},
        keys={called.get(key, key): place for key, place in entry.keys.items()},
    )


def renewed_file(root: Node) -> Node:
    """A whole file with its keys as they are called now."""
    if not isinstance(root, Fields):
        return root
    fields = {
        section: node._replace(items=tuple(renewed(section, each) for each in node.items))
        if isinstance(node, Items)
        else node
        for section, node in root.fields.items()
    }
    return root._replace(fields=fields)


def old_key_lines(files: Iterable[Path]) -> Iterator[str]:
    """A sentence for each old key in some files that are read without a problem."""
    for path in files:
        text = path.read_text(encoding="utf-8-sig")
        if not any(word in text for word in _WORDS):
            continue
        root = read_yaml(path)
        for section, node in root.fields.items() if isinstance(root, Fields) else ():
            for entry in node.items if isinstance(node, Items) else ():
                for old, new in RENAMED.get(section, {}).items():
                    if isinstance(entry, Fields) and old in entry.fields:
                        place = entry.key_place(old)
                        yield (
                            f"{place}: '{old}' is now called '{new}'; it is still read, and "
                            "'rackwalk rules format' renews it."
                        )


def _is_old(entry: Fields, key: str, names: dict[str, str]) -> bool:
    return key in names and names[key] not in entry.fields
