"""What is typed in the examples of the calculations: examples.yaml, read for --help only."""

from __future__ import annotations

from functools import cache
from importlib import resources
from typing import Any


def example(name: str) -> str:
    """The words after the calculation's name, or nothing where it needs none."""
    return str(examples().get(name, {}).get("type", ""))


@cache
def examples() -> dict[str, Any]:
    """Every example by the name of its calculation: `type`, and `gives` for those that are tested
    by a band of their result.
    """
    import yaml

    text = resources.files("expert.cli.calc").joinpath("examples.yaml").read_text("utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    found: dict[str, Any] = yaml.load(text, Loader=loader)  # noqa: S506
    return found
