"""Plain lines that fit a screen: wrapped by display width, in ASCII where nothing else shows."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

WIDEST = 88  # longer lines are hard to read
NARROWEST = 20
_ASCII = {
    "\N{DEGREE SIGN}": " deg ", "\N{PLUS-MINUS SIGN}": "+/-", "\N{MINUS SIGN}": "-",
    "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{MULTIPLICATION SIGN}": "x",
    "\N{LEFT SINGLE QUOTATION MARK}": "'", "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{LEFT DOUBLE QUOTATION MARK}": '"', "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    "\N{HORIZONTAL ELLIPSIS}": "...", "\N{SUPERSCRIPT TWO}": "2", "\N{SUPERSCRIPT THREE}": "3",
    "\N{GREEK CAPITAL LETTER DELTA}": "delta ", "\N{RIGHTWARDS ARROW}": "->",
    "\N{LESS-THAN OR EQUAL TO}": "<=", "\N{GREATER-THAN OR EQUAL TO}": ">=",
}  # fmt: skip


def width_of(text: str) -> int:
    """How many columns a text takes: wide signs two, combining and control signs none."""
    return sum(_width(sign) for sign in text)


def _width(sign: str) -> int:
    if unicodedata.combining(sign) or unicodedata.category(sign) in ("Cc", "Cf", "Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(sign) in ("W", "F") else 1


def cut(text: str, columns: int) -> str:
    """The beginning of a text that fits, for a line that must not wrap."""
    taken, used = [], 0
    for sign in text:
        used += _width(sign)
        if used > columns:
            break
        taken.append(sign)
    return "".join(taken)


def to_ascii(text: str) -> str:
    """The text in ASCII: known signs spelt out, accents dropped, the rest as '?'."""
    if text.isascii():
        return text
    spelt = "".join(_ASCII.get(sign, sign) for sign in text)
    plain = unicodedata.normalize("NFKD", spelt)
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return kept.encode("ascii", "replace").decode("ascii")


@dataclass(frozen=True)
class Layout:
    """A screen of so many columns. Every method gives lines without line ends."""

    columns: int = 80
    ascii_only: bool = False

    @property
    def width(self) -> int:
        """Columns that are used."""
        return max(min(self.columns, WIDEST), NARROWEST)

    def text(self, text: str, indent: int = 0, hang: int = 0) -> list[str]:
        """A paragraph; `hang` is added to the indent from its second line on."""
        if self.ascii_only:
            text = to_ascii(text)
        lines: list[str] = []
        line, used = "", 0
        for word in self._words(_clean(text), self.width - indent - hang):
            wide = width_of(word)
            room = self.width - indent - (hang if lines else 0)
            if line and used + 1 + wide > room:
                lines.append(line)
                line, used = word, wide
            else:
                line = f"{line} {word}" if line else word
                used += wide + (1 if used else 0)
        lines.append(line)
        first, rest = " " * indent, " " * (indent + hang)
        return [f"{first if n == 0 else rest}{each}".rstrip() for n, each in enumerate(lines)]

    def named(self, name: str, value: str, indent: int = 0) -> list[str]:
        """'Name: value', the next lines set in by two."""
        return self.text(f"{name}: {value}", indent, 2)

    def listed(self, mark: str, text: str, indent: int = 0) -> list[str]:
        """'1 text' or '- text', the next lines below the text."""
        return self.text(f"{mark} {text}", indent, width_of(mark) + 1)

    def _words(self, text: str, room: int) -> Iterator[str]:
        """Words, those that are wider than a line cut into pieces."""
        for word in text.split():
            while width_of(word) > room:
                piece = cut(word, room) or word[0]
                yield piece
                word = word[len(piece):]
            if word:
                yield word


def _clean(text: str) -> str:
    """The text without control signs, so that nothing typed or written can steer the terminal."""
    return "".join(
        " " if sign in "\t\r\n" else sign
        for sign in text
        if sign in "\t\r\n" or unicodedata.category(sign) not in ("Cc", "Cs")
    )
