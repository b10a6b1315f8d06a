"""A YAML file as a tree of entries with the comments that belong to each, for the formatter."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import yaml

from expert.errors import PackError, Place, Problem
from expert.knowledge.yaml_nodes import parse_yaml

_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOT_FORMATTED = {
    yaml.AnchorToken: "an anchor (&)",
    yaml.AliasToken: "an alias (*)",
    yaml.TagToken: "a tag (!)",
    yaml.DirectiveToken: "a directive (%)",
}


@dataclass
class Leaf:
    """A text; `quoted` when it was written in quotes, `folded` when over several lines."""

    text: str
    quoted: bool = False
    folded: bool = False


@dataclass
class TreeBranch:
    """A list or a mapping. `flow` when it was written with brackets and holds no comment.

    `one_line` when its author left it on one line; `tail` are the comments after its last entry.
    """

    entries: list[TreeEntry]
    mapping: bool
    flow: bool
    column: int
    one_line: bool
    parent: TreeEntry | None = None
    tail: list[str] = field(default_factory=list)


@dataclass
class TreeEntry:
    """One item of a list, or one key with its value.

    `lead` are the comments and blank lines ('') above it, `beside` the comment at its side.
    """

    key: str
    value: Leaf | TreeBranch
    line: int
    column: int
    within: TreeBranch
    lead: list[str] = field(default_factory=list)
    beside: str = ""


@dataclass(frozen=True)
class _Comment:
    line: int
    column: int
    index: int
    text: str
    alone: bool


def read_tree(text: str, path: str) -> TreeBranch | Leaf:
    """The tree of a file. Raises PackError for what cannot be read or would be lost."""
    parse_yaml(text, path)
    tokens = list(yaml.scan(text, Loader=_Loader))
    for token in tokens:
        if what := _NOT_FORMATTED.get(type(token)):
            place = Place(path, token.start_mark.line + 1, token.start_mark.column + 1)
            message = f"A file with {what} is not formatted."
            raise PackError([Problem("not-formatted", message, place, "Write the text out.")])
    comments = list(_comments(text, tokens))
    node = yaml.compose(text, Loader=_Loader)
    assert node is not None  # parse_yaml has refused an empty file
    root = _tree(node, comments)
    _attach(root, comments, _blank_lines(text))
    return root


def _comments(text: str, tokens: list[yaml.Token]) -> Iterator[_Comment]:
    """Every comment, in order. What stands inside a text is none."""
    lines = text.split("\n")
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line) + 1)
    inside: set[int] = set()
    texts: dict[int, list[tuple[int, int]]] = {}
    for token in tokens:
        if not isinstance(token, yaml.ScalarToken):
            continue
        first, last = token.start_mark, token.end_mark
        if token.style in ("|", ">"):
            inside |= _block_lines(lines, first.line)
            continue
        for number in range(first.line, last.line + 1):
            begin = first.column if number == first.line else 0
            end = last.column if number == last.line else len(lines[number])
            texts.setdefault(number, []).append((begin, end))
    for number, line in enumerate(lines):
        if number in inside:
            continue
        for match in re.finditer(r"(?:^|(?<=\s))#", line):
            column = match.start()
            if not any(begin <= column < end for begin, end in texts.get(number, ())):
                alone = not line[:column].strip()
                comment = line[column:].rstrip()
                yield _Comment(number, column, starts[number] + column, comment, alone)
                break


def _block_lines(lines: list[str], header: int) -> set[int]:
    """The lines of a text behind | or > that begins in the line after its header."""
    head = lines[header]
    above = len(head) - len(head.lstrip(" -"))
    if head[above : above + 1] in ("|", ">"):  # an item of a list, and not a key's value
        above -= 2
    found: set[int] = set()
    indent = 0
    for number in range(header + 1, len(lines)):
        line = lines[number]
        depth = len(line) - len(line.lstrip(" "))
        if not line.strip():
            continue
        indent = indent or depth
        if depth <= above or depth < indent:
            break
        found.add(number)
    return found


def _blank_lines(text: str) -> set[int]:
    return {number for number, line in enumerate(text.split("\n")) if not line.strip()}


def _tree(node: yaml.Node, comments: list[_Comment]) -> TreeBranch | Leaf:
    if isinstance(node, yaml.ScalarNode):
        folded = node.start_mark.line != node.end_mark.line
        return Leaf(node.value, node.style in ("'", '"'), folded)
    assert isinstance(node, yaml.CollectionNode)
    start, end = node.start_mark, node.end_mark
    commented = any(start.index <= comment.index < end.index for comment in comments)
    flow = bool(node.flow_style) and not commented
    mapping, one_line = isinstance(node, yaml.MappingNode), start.line == end.line
    branch = TreeBranch([], mapping, flow, start.column, one_line)
    for each in node.value:
        key, value = each if branch.mapping else (None, each)
        first = key or value
        entry = TreeEntry(
            key.value if key else "",
            _tree(value, comments),
            first.start_mark.line,
            branch.column if not branch.mapping else first.start_mark.column,
            branch,
        )
        if isinstance(entry.value, TreeBranch):
            entry.value.parent = entry
        branch.entries.append(entry)
    return branch


def _walk(branch: TreeBranch) -> Iterator[TreeEntry]:
    """Every entry that gets a line of its own, in the order of the file."""
    for entry in branch.entries:
        yield entry
        if isinstance(entry.value, TreeBranch) and not entry.value.flow:
            yield from _walk(entry.value)


def _attach(root: TreeBranch | Leaf, comments: list[_Comment], blank: set[int]) -> None:
    if isinstance(root, Leaf):
        return
    entries = list(_walk(root))
    for comment in comments:
        earlier = [entry for entry in entries if entry.line <= comment.line]
        if not comment.alone and earlier:
            entry = earlier[-1]
            entry.beside = f"{entry.beside} {comment.text}".strip()
            continue
        gap = [""] if comment.line - 1 in blank else []
        following = next((entry for entry in entries if entry.line > comment.line), None)
        home = _home(comment, earlier[-1] if earlier else None, following, root)
        home += [*gap, comment.text]
    for entry in entries:
        if entry.line - 1 in blank and entry.line > 0:
            entry.lead.append("")


def _home(
    comment: _Comment, before: TreeEntry | None, following: TreeEntry | None, root: TreeBranch
) -> list[str]:
    """The list of comments that a comment on a line of its own belongs to."""
    if following is not None and (comment.column <= following.column or before is None):
        return following.lead
    branch = before.within if before else root
    if before is not None and following is not None and following.within.parent is before:
        return following.lead
    while branch.parent is not None and branch.column > comment.column:
        branch = branch.parent.within
    if following is not None and _contains(branch, following):
        return following.lead
    return branch.tail


def _contains(branch: TreeBranch, entry: TreeEntry) -> bool:
    within: TreeBranch | None = entry.within
    while within is not None:
        if within is branch:
            return True
        within = within.parent.within if within.parent else None
    return False
