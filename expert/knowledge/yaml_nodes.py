"""YAML read as text with places: no guessed types, no duplicate keys.

YAML 1.1 turns `no` into False, `12:30` into 750 and `010` into 8; here every scalar stays the
text that was typed, and whoever reads it says what it should be.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import yaml

from expert.errors import PackError, Place, Problem

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Text:
    """A scalar as typed. `quoted` offsets columns of what is parsed inside it."""

    text: str
    place: Place
    quoted: bool = False


@dataclass(frozen=True)
class Items:
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True)
class Fields:
    """A mapping; `keys` holds the place of each key."""

    fields: dict[str, Node]
    place: Place
    keys: dict[str, Place] = field(default_factory=dict)

    def key_place(self, key: str) -> Place:
        """Where a key stands, or the mapping where it is missing."""
        return self.keys.get(key, self.place)


Node = Text | Items | Fields


def read_yaml(path: Path) -> Node:
    """The one document of a file. Raises PackError with every problem found."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise PackError([Problem("file-missing", "There is no such file.", Place(str(path)))]) from None
    except UnicodeDecodeError as error:
        raise PackError(
            [Problem("not-utf8", f"The file is not UTF-8 text ({error.reason}).", Place(str(path)))]
        ) from None
    except OSError as error:
        raise PackError(
            [Problem("file-unreadable", f"Cannot read the file: {error.strerror}.", Place(str(path)))]
        ) from None
    return parse_yaml(text, str(path))


def parse_yaml(text: str, path: str) -> Node:
    """The one document of a text; `path` is only for messages. Raises PackError."""
    try:
        root = yaml.compose(text, Loader=_Loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        place = Place(path, mark.line + 1, mark.column + 1) if mark else Place(path)
        what = (error.problem or "not readable").strip()
        raise PackError(
            [Problem("yaml-syntax", f"This is not valid YAML: {what}.", place, _syntax_hint(what))]
        ) from None
    except yaml.YAMLError as error:
        raise PackError([Problem("yaml-syntax", f"This is not valid YAML: {error}", Place(path))]) from None
    if root is None:
        raise PackError([Problem("empty", "The file is empty.", Place(path))])
    problems: list[Problem] = []
    node = _convert(root, path, problems)
    if problems:
        raise PackError(problems)
    return node


def _convert(node: yaml.Node, path: str, problems: list[Problem]) -> Node:
    place = Place(path, node.start_mark.line + 1, node.start_mark.column + 1)
    if isinstance(node, yaml.ScalarNode):
        return Text(node.value, place, quoted=node.style in ("'", '"'))
    if isinstance(node, yaml.SequenceNode):
        return Items(tuple(_convert(item, path, problems) for item in node.value), place)
    fields: dict[str, Node] = {}
    keys: dict[str, Place] = {}
    for key_node, value_node in node.value:
        key_place = Place(path, key_node.start_mark.line + 1, key_node.start_mark.column + 1)
        if not isinstance(key_node, yaml.ScalarNode):
            problems.append(Problem("key-not-text", "A key must be a plain word.", key_place))
            continue
        key = key_node.value
        if key in fields:
            problems.append(
                Problem(
                    "duplicate-key",
                    f"'{key}' stands here a second time; the first is in line {keys[key].line}.",
                    key_place,
                    "Keep one of them.",
                )
            )
            continue
        keys[key] = key_place
        fields[key] = _convert(value_node, path, problems)
    return Fields(fields, place, keys)


def _syntax_hint(what: str) -> str:
    if "mapping values are not allowed" in what:
        return "A text with ': ' in it must stand in quotes, and items of a list must line up."
    if "tab" in what or "\\t" in what:
        return "Indent with spaces, never with tabs."
    if "expected <block end>" in what or "could not find expected" in what:
        return "Check that this line is indented like its neighbours and that quotes are closed."
    return "Check indentation, quotes and brackets on this line and the one above."
