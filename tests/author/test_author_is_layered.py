"""The author's tools know no terminal, no database, no template, no command."""

from __future__ import annotations

import ast
from pathlib import Path

import expert.author

FOLDER = Path(expert.author.__file__).parent
# The plant: strengths that outcomes speak for are tried on plants that know no rule; it knows none
# of these packages itself. Practice: the keys of exercises, for their layout and schema.
LEFT = (
    "errors", "places", "units", "physics", "plant", "knowledge", "inference", "procedure",
    "practice", "columns", "author",
)  # fmt: skip


def imported(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
    return found


def test_only_what_stands_left_of_it_is_imported() -> None:
    wrong = {
        f"{path.name}: {name}"
        for path in FOLDER.rglob("*.py")
        for name in imported(path)
        if name.startswith("expert.") and name.split(".")[1] not in LEFT
    }
    assert not wrong


def test_no_terminal_database_or_template_is_imported() -> None:
    banned = {"sqlite3", "prompt_toolkit", "jinja2", "curses"}
    wrong = {
        f"{path.name}: {name}"
        for path in FOLDER.rglob("*.py")
        for name in imported(path)
        if name.split(".")[0] in banned
    }
    assert not wrong
