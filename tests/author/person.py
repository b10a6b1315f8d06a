"""A lead who types what stands in a script."""

from __future__ import annotations

from collections.abc import Iterator


def typed(script: str) -> Iterator[str]:
    """The lines of a script without what is written beside them."""
    return (line.partition("#")[0].strip() for line in script.rstrip("\n").split("\n"))


class Author:
    """Types the lines of a script; keeps what is said."""

    def __init__(self, script: str) -> None:
        self.left = typed(script)
        self.said: list[str] = []

    def read(self, prompt: str) -> str:
        line = next(self.left, None)
        if line is None:
            raise KeyboardInterrupt
        return line
