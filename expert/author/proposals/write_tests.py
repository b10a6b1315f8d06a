"""Puts proposed tests under the rules they belong to, in the text of a rulebase file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from expert.knowledge.model import Rule


def with_tests(
    text: str,
    rules: Iterable[Rule],
    added: Mapping[str, Sequence[tuple[str, ...]]],
    said: Mapping[int, tuple[str, tuple[str, ...]]],
) -> str:
    """The text of one file with more tests, and with tests that say more.

    `rules` are the rules of the file as they stand in it. `added` gives new tests by rule, each
    as the lines of one item. `said` gives, by the line of a test that is there, the line it gets
    more, and the whole test for where it stands on one line and has no room.
    """
    lines = text.split("\n")
    new: dict[int, list[str]] = {}
    for rule in rules:
        first, indent = rule.place.line - 1, rule.place.column - 1
        items = list(added.get(rule.id, ()))
        for test in rule.tests:
            more, whole = said.get(test.place.line, ("", ()))
            after = _expectation(lines, test.place.line - 1) if more else None
            if after is not None:
                new.setdefault(after[0] + 1, []).append(f"{' ' * after[1]}{more}")
            elif more:
                items.append(whole)
        if items:
            _insert(lines, first, indent, items, new)
    kept = [(*new.get(number, ()), line) for number, line in enumerate(lines)]
    return "\n".join(line for group in kept for line in group)


def _insert(
    lines: list[str], first: int, indent: int, items: list[tuple[str, ...]],
    new: dict[int, list[str]],
) -> None:  # fmt: skip
    """The items after the last test of a rule, or under a key of their own."""
    end = _end(lines, first, indent)
    key = next((n for n in range(first, end) if _is_tests(lines[n], indent)), None)
    lead = " " * (indent + 2)
    if key is None:
        new.setdefault(end, []).append(f"{' ' * indent}tests:")
    else:
        listed = (line for line in lines[key + 1 : end] if line.lstrip().startswith("- "))
        lead = next((line[: len(line) - len(line.lstrip())] for line in listed), lead)
    new.setdefault(end, []).extend(f"{lead}{line}" for item in items for line in item)


def _end(lines: list[str], first: int, indent: int) -> int:
    """The line after the last one of an entry, without blank lines and comments after it."""
    last = first
    for number in range(first + 1, len(lines)):
        line = lines[number].lstrip(" ")
        if line and not line.startswith("#"):
            if len(lines[number]) - len(line) < indent:
                break
            last = number
    return last + 1


def _expectation(lines: list[str], start: int) -> tuple[int, int] | None:
    """The line of a test with `expect:`, and the column of its keys; None for one line."""
    column = len(lines[start]) - len(lines[start].lstrip(" -"))
    for number in range(start, _end(lines, start, column)):
        if re.match(rf" {{{column}}}expect:", lines[number].replace("-", " ", 1)):
            return number, column
    return None


def _is_tests(line: str, indent: int) -> bool:
    return re.fullmatch(rf" {{{indent}}}tests:\s*(#.*)?", line) is not None
