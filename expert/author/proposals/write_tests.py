"""Puts proposed tests into the text of rulebase files: new ones into proof, at the end of what
their rule has there; what a test finds under what it expects."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

_LONGEST = 114  # of a test on one line; with its indentation as much as the layout leaves there


def with_finds(text: str, finds: Mapping[int, str]) -> tuple[str, set[int]]:
    """The text of a file with tests that say more.

    `finds` gives, by the line of a test that is there, the line it gets more. Gives besides the
    lines of those that stand on one line and have no room.
    """
    lines = text.split("\n")
    new: dict[int, str] = {}
    no_room = set()
    for number, more in finds.items():
        after = _expectation(lines, number - 1)
        if after is None:
            no_room.add(number)
        else:
            new[after[0]] = f"{' ' * after[1]}{more}"
    kept = [(line, *([new[number]] if number in new else ())) for number, line in enumerate(lines)]
    return "\n".join(line for group in kept for line in group), no_room


def with_proof(text: str, added: Mapping[str, Sequence[tuple[str, ...]]]) -> str:
    """The text of a file with more tests in its section 'proof', by rule, each as the lines of
    one item. The section is made where there is none."""
    lines = text.rstrip("\n").split("\n") if text.strip() else []
    if "proof:" not in lines:
        lines += [*([""] if lines else []), "proof:"]
    for rule, items in added.items():
        start = lines.index("proof:")
        end = _end(lines, start, 1)
        head = re.compile(rf"( *)- rule: {re.escape(rule)}\s*(#.*)?")
        found = next((n for n in range(start, end) if head.fullmatch(lines[n])), None)
        if found is None:
            lines[end:end] = [f"  - rule: {rule}", "    tests:"]
            lines[end + 2 : end + 2] = [
                f"      {line}" for item in items for line in _compact(item)
            ]
            continue
        indent = len(lines[found]) - len(lines[found].lstrip(" ")) + 2
        end = _end(lines, found, indent)
        listed = (line for line in lines[found + 1 : end] if line.lstrip().startswith("- "))
        lead = next((line[: len(line) - len(line.lstrip())] for line in listed), " " * (indent + 2))
        lines[end:end] = [f"{lead}{line}" for item in items for line in _compact(item)]
    return "\n".join(lines) + "\n"


def _compact(item: tuple[str, ...]) -> tuple[str, ...]:
    """A test on one line where it has room."""
    whole = f"- {{{', '.join(line[2:] for line in item)}}}"
    return (whole,) if len(whole) <= _LONGEST else item


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
