"""The canonical layout of a knowledge file: comments kept, meaning unchanged, old keys renewed.

Two spaces of indentation, keys in their usual order, lines of at most 100 characters, longer
texts folded. What was written in brackets stays so while it fits in its line; tests in proof are
put in brackets.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

import yaml

from expert.author.files.yaml_tree import Leaf, TreeBranch, TreeEntry, read_tree
from expert.errors import RackwalkError
from expert.knowledge.key_shapes import Shape
from expert.knowledge.keys import LISTS, SINGLE, TEST
from expert.knowledge.old_keys import RENAMED, renewed_file
from expert.knowledge.yaml_nodes import Fields, Items, Node, parse_yaml
from expert.practice.setting_keys import SECTIONS

ORDER = {**SECTIONS, **LISTS}  # the keys of entries, of exercises too
WIDTH = 100
LONGEST = 120  # what its author left on one line stays there up to this
_UNSAFE_FIRST = set(",[]{}#&*!|>'\"%@`")
_WORD = re.compile(r"(?:\S*\d \S+|\S+)")  # a number stays with its unit
_ODD = re.compile(r"[\x00-\x1f\x7f-\xa0\u2028\u2029\ufeff]")


def format_text(text: str, path: str = "") -> str:
    """The text of a file in its canonical layout. `path` is only for messages.

    Raises PackError for what cannot be read, and RackwalkError where the meaning or a comment
    would not survive (a fault of the formatter; the file is then better left alone).
    """
    root = read_tree(text, path)
    if isinstance(root, Leaf):
        return text
    _order(root)
    lines = _tidy([*_branch(root, 0), *root.tail])
    formatted = "\n".join(line.rstrip() for line in lines).strip("\n") + "\n"
    if _meaning(parse_yaml(formatted, path)) != _meaning(renewed_file(parse_yaml(text, path))):
        raise RackwalkError(f"{path}: the layout would change what it says; it is left as it is.")
    if _comment_words(formatted) != _comment_words(text):
        raise RackwalkError(f"{path}: the layout would lose a comment; it is left as it is.")
    return formatted


def _order(root: TreeBranch) -> None:
    """Put the keys of entries in their usual order; keys that are not known stay last."""
    for section in root.entries:
        value = section.value
        if isinstance(value, TreeBranch) and section.key in SINGLE:
            _sort(value, SINGLE[section.key])
        if isinstance(value, TreeBranch) and section.key in ORDER and not value.mapping:
            for item in value.entries:
                _renew(item.value, RENAMED.get(section.key, {}))
                _sort(item.value, ORDER[section.key])
                _sort_tests(item.value, compact=section.key == "proof")


def _renew(value: Leaf | TreeBranch, names: Mapping[str, str]) -> None:
    keys = {entry.key for entry in value.entries} if isinstance(value, TreeBranch) else set()
    for entry in value.entries if isinstance(value, TreeBranch) else ():
        if entry.key in names and names[entry.key] not in keys:
            entry.key = names[entry.key]


def _sort(value: Leaf | TreeBranch, shape: Shape) -> None:
    if isinstance(value, TreeBranch) and value.mapping:
        ranks = {name: rank for rank, name in enumerate(shape.names)}
        value.entries.sort(key=lambda entry: ranks.get(entry.key, len(ranks)))


def _sort_tests(value: Leaf | TreeBranch, *, compact: bool) -> None:
    for entry in value.entries if isinstance(value, TreeBranch) else ():
        if entry.key == "tests" and isinstance(entry.value, TreeBranch) and not entry.value.mapping:
            for test in entry.value.entries:
                _sort(test.value, TEST)
                if compact and not _commented(test.value):
                    _put_in_brackets(test.value)


def _commented(value: Leaf | TreeBranch) -> bool:
    """Whether a comment stands inside."""
    return isinstance(value, TreeBranch) and any(
        any(entry.lead) or entry.beside or _commented(entry.value) for entry in value.entries
    )  # fmt: skip


def _put_in_brackets(value: Leaf | TreeBranch) -> None:
    """Let it stand on one line where it has room."""
    if isinstance(value, TreeBranch):
        value.flow = value.one_line = True
        for entry in value.entries:
            entry.lead.clear()
            _put_in_brackets(entry.value)


def _branch(branch: TreeBranch, indent: int) -> Iterator[str]:
    """The lines of a block list or mapping, without the comments after it."""
    for entry in branch.entries:
        pad = " " * indent
        yield from (f"{pad}{line}" if line else "" for line in entry.lead)
        if branch.mapping:
            yield from _valued(f"{pad}{_key(entry.key, in_flow=False)}:", entry, indent)
        else:
            yield from _item(entry, indent)


def _valued(head: str, entry: TreeEntry, indent: int) -> Iterator[str]:
    """A key with its value."""
    value = entry.value
    if isinstance(value, Leaf):
        yield from _text(head, value, indent, entry.beside)
    elif (flow := _flow(value)) and len(head) + 1 + len(flow) <= _room(value):
        yield _with(f"{head} {flow}", entry.beside)
        yield from _tail(value, indent)
    else:
        yield _with(head, entry.beside)
        yield from _branch(value, indent + 2)
        yield from _tail(value, indent + 2)


def _item(entry: TreeEntry, indent: int) -> Iterator[str]:
    """An item of a list."""
    value, pad = entry.value, " " * indent
    if isinstance(value, Leaf):
        yield from _text(f"{pad}-", value, indent, entry.beside)
        return
    flow = _flow(value)
    if flow and (len(pad) + 2 + len(flow) <= _room(value) or not value.mapping):
        yield _with(f"{pad}- {flow}", entry.beside)
        yield from _tail(value, indent + 2)
        return
    if entry.beside:
        yield f"{pad}{entry.beside}"
    lines = list(_branch(value, indent + 2))
    first = next(n for n, line in enumerate(lines) if line.strip() and line.strip()[0] != "#")
    yield from (f"{pad}{line.strip()}" if line.strip() else "" for line in lines[:first])
    yield f"{pad}- {lines[first].lstrip()}"
    yield from lines[first + 1 :]
    yield from _tail(value, indent + 2)


def _room(value: TreeBranch) -> int:
    return LONGEST if value.one_line else WIDTH


def _tail(value: TreeBranch, indent: int) -> Iterator[str]:
    yield from (f"{' ' * indent}{line}" if line else "" for line in value.tail)


def _text(head: str, leaf: Leaf, indent: int, beside: str) -> Iterator[str]:
    """A text behind a key or a dash: in the line, or folded where it is too long."""
    shown = _scalar(leaf, in_flow=False)
    one_line = f"{head} {shown}".rstrip()
    fits = len(one_line) <= (WIDTH if leaf.folded else LONGEST)
    if fits or " " not in leaf.text.strip() or _ODD.search(_folded(leaf.text)):
        yield _with(one_line, beside)
        return
    yield _with(f"{head} >-", beside)
    line = ""
    pad = " " * (indent + 2)
    for word in _WORD.findall(_folded(leaf.text)):
        if line and len(pad) + len(line) + 1 + len(word) > WIDTH:
            yield pad + line
            line = word
        else:
            line = f"{line} {word}".lstrip()
    yield pad + line


def _with(line: str, beside: str) -> str:
    return f"{line}  {beside}" if beside else line


def _flow(value: TreeBranch | Leaf) -> str:
    """A value in brackets on one line; empty where it must be written line by line."""
    if isinstance(value, Leaf):
        return _scalar(value, in_flow=True) or '""'
    if value.entries and not value.flow:
        return ""
    parts = []
    for entry in value.entries:
        inner = _flow(entry.value)
        if not inner:
            return ""
        key = _key(entry.key, in_flow=True)
        parts.append(f"{key}: {inner}" if value.mapping else inner)
    inside = ", ".join(parts)
    return f"{{{inside}}}" if value.mapping else f"[{inside}]"


def _key(key: str, *, in_flow: bool) -> str:
    return _scalar(Leaf(key), in_flow=in_flow)


def _scalar(leaf: Leaf, *, in_flow: bool) -> str:
    """A text on one line, in quotes where the author put it in quotes or it needs them."""
    text = leaf.text if not re.search(r"\n", leaf.text) else _folded(leaf.text)
    if not text:
        return '""' if leaf.quoted else ""
    if not leaf.quoted and _plain(text, in_flow):
        return text
    if _ODD.search(text):
        return str(yaml.dump(text, default_style='"', width=10**6, allow_unicode=True)).rstrip("\n")
    if '"' in text or "\\" in text:
        return "'" + text.replace("'", "''") + "'"
    return f'"{text}"'


def _plain(text: str, in_flow: bool) -> bool:
    """Whether a text means itself without quotes."""
    first, second = text[0], text[1:2]
    if text != text.strip() or _ODD.search(text) or first in _UNSAFE_FIRST:
        return False
    if first in "-?:" and (second in ("", " ") or (in_flow and second in ",[]{}")):
        return False
    if ": " in text or " #" in text or text.endswith(":") or text[:3] in ("---", "..."):
        return False
    return not (in_flow and (set(",[]{}") & set(text) or ":" in text))


def _folded(text: str) -> str:
    return " ".join(text.split())


def _tidy(lines: Sequence[str]) -> list[str]:
    """No two blank lines in a row, and none at the beginning of what hangs under a key."""
    kept: list[str] = []
    for line in lines:
        opens = bool(kept) and re.search(r":(\s+#.*)?$", kept[-1]) is not None
        if line or (kept and kept[-1] and not opens):
            kept.append(line)
    return kept


def _meaning(node: Node) -> object:
    """What a file says: texts with single spaces, mappings without order."""
    if isinstance(node, Items):
        return [_meaning(item) for item in node.items]
    if isinstance(node, Fields):
        return {key: _meaning(value) for key, value in node.fields.items()}
    return _folded(node.text)


def _comment_words(text: str) -> Counter[str]:
    """The words of all comments, however they stand."""
    root = read_tree(text, "")
    words: Counter[str] = Counter()
    if isinstance(root, Leaf):
        return words
    stack: list[TreeBranch] = [root]
    while stack:
        branch = stack.pop()
        words.update(word for line in branch.tail for word in line.split())
        for entry in branch.entries:
            for line in (*entry.lead, entry.beside):
                words.update(line.split())
            if isinstance(entry.value, TreeBranch):
                stack.append(entry.value)
    return words
