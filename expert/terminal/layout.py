"""Plain lines that fit a screen: wrapped by display width, in ASCII where nothing else shows."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from expert.made_when_used import dataclass

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
    if text.isascii() and text.isprintable():
        return len(text)
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
        return self._wrapped(text, " " * indent, " " * (indent + hang))

    def named(self, name: str, value: str, indent: int = 0) -> list[str]:
        """'Name: value', the next lines set in by two."""
        return self.text(f"{name}: {value}", indent, 2)

    def listed(self, mark: str, text: str, indent: int = 0) -> list[str]:
        """'1 text' or '- text', the next lines set in below the mark, by eight at most."""
        first = f"{' ' * indent}{mark} "
        return self._wrapped(text, first, " " * min(len(first), indent + 8))

    def typed(self, how: str, says: str = "") -> list[str]:
        """What is said, and how it is answered by typing; a face with buttons leaves that out."""
        return self.text(f"{says} {how}".lstrip())

    def choice(self, mark: str, text: str) -> list[str]:
        """Something that may be picked; a face with buttons shows it as one."""
        return self.listed(mark, text, 2)

    def alone(self, value: str) -> list[str]:
        """What Enter alone gives; a face with fields has it in the field."""
        return self.named("Enter alone gives", value)

    def _wrapped(self, text: str, first: str, rest: str) -> list[str]:
        shown = to_ascii(_clean(text)) if self.ascii_only else _clean(text)
        lines, line, used = [], first, width_of(first)
        empty, width = True, self.width
        for word in self._words(shown, width - max(len(first), len(rest))):
            wide = width_of(word)
            if not empty and used + 1 + wide > width:
                lines.append(line)
                line, used, empty = rest, len(rest), True
            line += word if empty else f" {word}"
            used += wide if empty else wide + 1
            empty = False
        return [each.rstrip() for each in (*lines, line)]

    def _words(self, text: str, room: int) -> Iterator[str]:
        """Words, those that are wider than a line cut into pieces."""
        for word in text.split():
            while len(word) * 2 > room and width_of(word) > room:  # no sign is wider than two
                piece = cut(word, room) or word[0]
                yield piece
                word = word[len(piece) :]
            if word:
                yield word


def _clean(text: str) -> str:
    """The text without control signs, so that nothing typed or written can steer the terminal."""
    if text.isprintable():
        return text
    return "".join(
        " " if sign in "\t\r\n" else sign
        for sign in text
        if sign in "\t\r\n" or unicodedata.category(sign) not in ("Cc", "Cs")
    )
