"""The texts of the terminal as paragraphs of a page: not wrapped, and without what to type."""

from __future__ import annotations

from dataclasses import dataclass

from expert.terminal.layout import Layout


class Paragraph(str):
    """A text with the name that stands before it, its mark in a list, and whether it is set in."""

    __slots__ = ("deep", "mark", "name")
    name: str
    mark: str
    deep: bool

    def __new__(cls, text: str, *, name: str = "", mark: str = "", deep: bool = False) -> Paragraph:
        """One paragraph."""
        made = super().__new__(cls, text)
        made.name, made.mark, made.deep = name, mark, deep
        return made


@dataclass(frozen=True)
class PageLayout(Layout):
    """A page: a browser breaks its lines, and answers are given by buttons and fields."""

    def text(self, text: str, indent: int = 0, hang: int = 0) -> list[str]:
        """A paragraph."""
        return [Paragraph(text, deep=indent > 0)] if text.strip() else []

    def named(self, name: str, value: str, indent: int = 0) -> list[str]:
        """A name and what it is."""
        return [Paragraph(value, name=name, deep=indent > 0)]

    def listed(self, mark: str, text: str, indent: int = 0) -> list[str]:
        """An item of a list."""
        return [Paragraph(text, mark=mark, deep=indent > 0)]

    def typed(self, how: str, says: str = "") -> list[str]:
        """What is said, without how it is typed."""
        said = says.strip()
        return self.text(f"{said[:-1]}." if said.endswith(";") else said)

    def choice(self, mark: str, text: str) -> list[str]:
        """Nothing: a button says it."""
        return []

    def alone(self, value: str) -> list[str]:
        """Nothing: it stands in the field."""
        return []


PAGE = PageLayout()
