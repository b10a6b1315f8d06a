"""Where the shipped knowledge lies: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path


def shipped(name: str) -> Path:
    """The folder 'rulebase', 'checklists' or 'reports' that belongs to this program."""
    package = Path(__file__).parent
    inside = package / "shipped" / name
    return inside if inside.is_dir() else package.parent / name


def shipped_cases() -> Path:
    """The whole cases of the shipped rulebase; in a checkout they lie with the tests."""
    inside = shipped("cases")
    return inside if inside.is_dir() else inside.parent / "tests" / "scenarios"
