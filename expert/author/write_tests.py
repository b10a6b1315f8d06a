"""Puts proposed tests under the rules they belong to, in the text of a rulebase file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from expert.knowledge.model import Rule


def with_tests(
    text: str, added: Mapping[str, Iterable[tuple[str, ...]]], rules: Iterable[Rule]
) -> str:
    """The text of one file with more tests, each given as the lines of one item.

    `rules` are the rules of the file, with the lines at which they stand in it.
    """
    lines = text.split("\n")
    ordered = sorted(rules, key=lambda rule: rule.place.line, reverse=True)
    for rule in ordered:
        items = [item for item in added.get(rule.id, ())]
        if not items:
            continue
        first = rule.place.line - 1
        indent = rule.place.column - 1
        end = _end(lines, first, indent)
        key = next((n for n in range(first, end) if _is_tests(lines[n], indent)), None)
        if key is None:
            lines[end:end] = [f"{' ' * indent}tests:"]
            key, end = end, end + 1
        lead = _lead(lines, key, end, indent)
        lines[end:end] = [f"{lead}{line}" for item in items for line in item]
    return "\n".join(lines)


def _end(lines: list[str], first: int, indent: int) -> int:
    """The line after the last one of an entry; blank lines and comments there are not its own."""
    end = first + 1
    last = first
    while end < len(lines):
        line = lines[end]
        depth = len(line) - len(line.lstrip(" "))
        if line.strip() and not line.lstrip().startswith("#"):
            if depth < indent:
                break
            last = end
        end += 1
    return last + 1


def _is_tests(line: str, indent: int) -> bool:
    return re.fullmatch(rf" {{{indent}}}tests:\s*(#.*)?", line) is not None


def _lead(lines: list[str], key: int, end: int, indent: int) -> str:
    """The indentation of the items that are there already, else two spaces more than the key."""
    for line in lines[key + 1 : end]:
        if line.lstrip().startswith("- "):
            return line[: len(line) - len(line.lstrip(" "))]
    return " " * (indent + 2)
