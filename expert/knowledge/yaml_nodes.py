"""YAML read as text with places: no guessed types, no duplicate keys.

YAML 1.1 turns `no` into False, `12:30` into 750 and `010` into 8; here every scalar stays the
text that was typed, and whoever reads it says what it should be.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from expert.errors import PackError, Place, Problem
from expert.text_files import marked_encoding

if TYPE_CHECKING:  # the library is imported when a file is read: what is kept needs none
    import yaml

# YAML 1.1, 5.1 Character Set; compiled when a file is read, which takes as long as some modules
_UNPRINTABLE = "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"


class Text(NamedTuple):
    """A scalar as typed. `quoted` offsets columns; `folded` says that it spans several lines."""

    text: str
    place: Place
    quoted: bool = False
    folded: bool = False

    def at(self, column: int) -> Place:
        """Where a column of the text, counted from 1, stands in the file."""
        if self.folded:
            return self.place
        offset = column - 1 + int(self.quoted)
        return Place(self.place.path, self.place.line, self.place.column + offset)


class Items(NamedTuple):
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place


class Fields(NamedTuple):
    """A mapping; `keys` holds the place of each key."""

    fields: Mapping[str, Node]
    place: Place
    keys: Mapping[str, Place] = MappingProxyType({})

    def key_place(self, key: str) -> Place:
        """Where a key stands, or the mapping where it is missing."""
        return self.keys.get(key, self.place)


Node = Text | Items | Fields


def id_of(node: Node) -> str:
    """The id of an entry, empty where it has none."""
    named = node.fields.get("id") if isinstance(node, Fields) else None
    return named.text.strip() if isinstance(named, Text) else ""


def as_data(node: Node) -> Any:
    """A node as mappings, lists and texts, without places."""
    if isinstance(node, Fields):
        return {key: as_data(value) for key, value in node.fields.items()}
    return [as_data(item) for item in node.items] if isinstance(node, Items) else node.text


def places_in(node: Node, passed_over: Collection[str] = ()) -> Mapping[str, Place]:
    """Where each key and each word under it stands: 'cautions', 'cautions.hot-surfaces'.

    It is gone through when a place is asked for, which is when something is wrong with the entry.
    """
    return _LatePlaces(node, passed_over)


class _LatePlaces(Mapping[str, Place]):
    """Places by the way to them, found at the first question."""

    def __init__(self, node: Node, passed_over: Collection[str]) -> None:
        self._given: tuple[Node, Collection[str]] | None = (node, passed_over)
        self._found: dict[str, Place] = {}

    def __getitem__(self, path: str) -> Place:
        return self._all()[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all())

    def __len__(self) -> int:
        return len(self._all())

    def _all(self) -> dict[str, Place]:
        if self._given is not None:
            node, passed_over = self._given
            _gather(node, "", self._found, passed_over)
            self._given = None
        return self._found


def _gather(node: Node, path: str, found: dict[str, Place], passed_over: Collection[str]) -> None:
    """Adds what stands under a node; of several with one way to them the first one stays."""
    if isinstance(node, Text):
        found.setdefault(f"{path}.{' '.join(node.text.split())}", node.place)
    elif isinstance(node, Items):
        for item in node.items:
            _gather(item, path, found, ())
    else:
        for key, value in node.fields.items():
            if key not in passed_over:
                below = f"{path}.{key}" if path else key
                found.setdefault(below, node.key_place(key))
                _gather(value, below, found, ())


LARGEST = 5_000_000  # bytes; the largest shipped file has 60 thousand
MOST_ALIASES = 100  # few files have any; nested ones grow beyond every memory


def read_yaml(path: Path) -> Node:
    """The one document of a file. Raises PackError with every problem found."""
    return parse_yaml(text_of(path), str(path))


def read_untested(path: Path) -> Node:
    """The document of a file of entries without the keys `tests:` of these, which are then neither
    read nor checked: they are half of the text of rules. Raises PackError.
    """
    return parse_yaml(re.sub(_TESTS, _emptied, text_of(path), flags=re.MULTILINE), str(path))


# an entry and its key `tests:` in block style: such a line cannot be part of a text of the entry,
# whose lines stand further in
_TESTS = (
    r"^(?P<margin> *)- (?:id|rule):.*\n(?:(?P=margin)  .*\n|[ \t]*(?:#.*)?\n)*?"
    r"(?P<tests>(?P=margin)  tests:.*\n(?:(?P=margin)  [ -].*\n|[ \t]*(?:#.*)?\n)*)"
)


def _emptied(found: re.Match[str]) -> str:
    """An entry with empty lines in the place of its tests, so that all else stands where it did."""
    tests = found["tests"]
    return found[0][: -len(tests)] + "\n" * tests.count("\n")


def text_of(path: Path) -> str:
    """The text of a file that is no larger than any of ours. Raises PackError."""
    try:
        if (size := path.stat().st_size) > LARGEST:
            raise _too_large(size, str(path))
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        problem = Problem("file-missing", "There is no such file.", Place(str(path)))
        raise PackError([problem]) from None
    except UnicodeDecodeError as error:
        raise PackError([_not_utf8(path, error)]) from None
    except OSError as error:
        message = f"Cannot read the file: {error.strerror}."
        raise PackError([Problem("file-unreadable", message, Place(str(path)))]) from None


def _not_utf8(path: Path, error: UnicodeDecodeError) -> Problem:
    marked = marked_encoding(path)
    what = "UTF-16" if marked == "utf-16" else "another encoding"
    before = bytes(error.object[: error.start])
    line = before.count(b"\n") + 1
    place = Place(str(path)) if marked == "utf-16" else Place(str(path), line)
    message = f"The file is not UTF-8 text ({error.reason})."
    return Problem("not-utf8", message, place, f"It is in {what}; save it as UTF-8 and try again.")


def _too_large(size: int, path: str) -> PackError:
    what = f"The file has {size} bytes; more than {LARGEST} are refused."
    return PackError([Problem("too-large", what, Place(path))])


def parse_yaml(text: str, path: str) -> Node:
    """The one document of a text; `path` is only for messages. Raises PackError."""
    if len(text) > LARGEST:
        raise _too_large(len(text), path)
    import yaml

    from expert.knowledge.yaml_problems import syntax_problem

    if bad := re.search(_UNPRINTABLE, text):
        before = text[: bad.start()].split("\n")
        place = Place(path, len(before), len(before[-1]) + 1)
        what = f"The character U+{ord(bad.group()):04X} is not allowed here."
        raise PackError([Problem("yaml-syntax", what, place, "Delete it.")])
    try:
        root = yaml.compose(text, Loader=_untagged())
    except yaml.MarkedYAMLError as error:
        raise PackError([syntax_problem(error, text, path)]) from None
    except RecursionError:
        problem = Problem("too-deep", "Lists stand in lists too many times.", Place(path))
        raise PackError([problem]) from None
    except yaml.YAMLError as error:
        message = f"This is not valid YAML: {error}"
        raise PackError([Problem("yaml-syntax", message, Place(path))]) from None
    if root is None:
        raise PackError([Problem("empty", "The file is empty.", Place(path))])
    problems: list[Problem] = []
    node = _Converter(path, problems).convert(root, frozenset())
    if problems:
        raise PackError(problems)
    return node


@cache
def _untagged() -> Any:
    """A loader that looks for no tags: nothing here is guessed from how a text looks."""
    import yaml

    base: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)

    class Untagged(base):  # type: ignore[misc]
        def resolve(self, kind: object, value: object, implicit: object) -> str:
            return ""

        def descend_resolver(self, node: object, index: object) -> None: ...

        def ascend_resolver(self) -> None: ...

    return Untagged


class _Converter:
    """Turns the nodes of one document into ours; what an alias repeats is counted."""

    def __init__(self, path: str, problems: list[Problem]) -> None:
        import yaml

        self.scalar, self.sequence = yaml.ScalarNode, yaml.SequenceNode
        self.path = path
        self.problems = problems
        self.seen: set[int] = set()
        self.again = 0

    def convert(self, node: yaml.Node, above: frozenset[int]) -> Node:
        """A node with all below it; `above` are those in which it stands."""
        path, problems = self.path, self.problems
        mark = node.start_mark
        line = mark.line
        place = Place(path, line + 1, mark.column + 1)
        if type(node) is self.scalar:
            return Text(node.value, place, node.style in ("'", '"'), node.end_mark.line != line)
        if id(node) in above:
            message = "This part contains itself by an anchor (&) and an alias (*)."
            problems.append(Problem("yaml-circle", message, place, "Write the text out."))
            return Items((), place)
        if id(node) in self.seen:
            self.again += 1
            if self.again > MOST_ALIASES:
                message = f"More than {MOST_ALIASES} aliases (*) are used."
                raise PackError(
                    [Problem("too-many-aliases", message, place, "Write the text out.")]
                )
        self.seen.add(id(node))
        above |= {id(node)}
        if type(node) is self.sequence:
            return Items(tuple(self.convert(item, above) for item in node.value), place)
        fields: dict[str, Node] = {}
        keys: dict[str, Place] = {}
        for key_node, value_node in node.value:
            mark = key_node.start_mark
            key_place = Place(path, mark.line + 1, mark.column + 1)
            if type(key_node) is not self.scalar:
                problems.append(Problem("key-not-text", "A key must be a plain word.", key_place))
                continue
            key = key_node.value
            if key in fields:
                problems.append(
                    Problem(
                        "duplicate-key",
                        f"'{key}' stands here a second time; "
                        f"the first is in line {keys[key].line}.",
                        key_place,
                        "Keep one of them.",
                    )
                )
                continue
            keys[key] = key_place
            fields[key] = self.convert(value_node, above)
        return Fields(fields, place, keys)
