"""A small writer of accessible SVG: the same figures always give the same text.

Plotting libraries bring numpy, fonts, scripts or random ids; a report needs lines, boxes,
marks and words. Sizes are in a drawing 360 wide, so that words stay readable on a phone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from expert.units.measure import number_text

WIDTH = 360.0
SIZE = 11.0  # of letters; at the width of a phone about ten pixels
LETTER = 0.56  # width of an average letter over its size, in a sans-serif face
INK, GREY, BAND, PAPER = "#111", "#595959", "#e4e4e4", "#fff"
MARKS = ("circle", "square", "up", "diamond", "down")
DASHES = ("", "7 3", "2 3", "8 3 2 3", "12 4")


@dataclass(frozen=True)
class Figure:
    """A drawing with its title, its text alternative and the table of the same numbers."""

    title: str
    text: str
    svg: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    remarks: tuple[str, ...] = ()


class Drawing:
    """Collects shapes; `svg` gives them with title and description. `key` is unique in a page."""

    def __init__(self, height: float, width: float = WIDTH) -> None:
        self.width, self.height = width, height
        self._parts: list[str] = []

    def line(self, x1: float, y1: float, x2: float, y2: float, **more: str) -> None:
        """A straight line."""
        self._add("line", x1=_n(x1), y1=_n(y1), x2=_n(x2), y2=_n(y2), **{"stroke": INK, **more})

    def box(self, x: float, y: float, width: float, height: float, **more: str) -> None:
        """A rectangle."""
        place = {"x": _n(x), "y": _n(y), "width": _n(max(width, 0.0)), "height": _n(height)}
        self._add("rect", **place, **{"fill": PAPER, **more})

    def curve(self, points: Iterable[tuple[float, float]], **more: str) -> None:
        """A line through points."""
        corners_text = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._add("polyline", points=corners_text, fill="none", **{"stroke": INK, **more})

    def mark(self, shape: str, x: float, y: float, *, hollow: bool = False, r: float = 3.6) -> None:
        """A mark of one of MARKS."""
        look = {"fill": PAPER if hollow else INK, "stroke": INK, "stroke-width": "1.3"}
        if shape == "circle":
            self._add("circle", cx=_n(x), cy=_n(y), r=_n(r), **look)
            return
        corners = {
            "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
            "up": ((0, -1.2), (1.1, 0.9), (-1.1, 0.9)),
            "down": ((0, 1.2), (1.1, -0.9), (-1.1, -0.9)),
            "diamond": ((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),
        }[shape]
        corners_text = " ".join(f"{_n(x + r * a)},{_n(y + r * b)}" for a, b in corners)
        self._add("polygon", points=corners_text, **look)

    def words(
        self, x: float, y: float, text: str, anchor: str = "start", *, size: float = SIZE,
        bold: bool = False, fill: str = INK,
    ) -> None:  # fmt: skip
        """A line of words on its base line."""
        more = {"font-weight": "bold"} if bold else {}
        shown = _attributes(
            {"x": _n(x), "y": _n(y), "font-size": _n(size), "fill": fill, **more}
            | ({} if anchor == "start" else {"text-anchor": anchor})
        )
        self._parts.append(f"<text{shown}>{escape(text)}</text>")

    def svg(self, key: str, title: str, text: str) -> str:
        """The whole drawing."""
        names = f"{key}-t {key}-d"
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(self.width)} '
            f'{_n(self.height)}" role="img" aria-labelledby={quoteattr(names)} '
            'font-family="sans-serif">'
            f'<title id="{key}-t">{escape(title)}</title><desc id="{key}-d">{escape(text)}</desc>'
        )
        return "\n".join([head, *self._parts, "</svg>"])

    def _add(self, name: str, **attributes: str) -> None:
        self._parts.append(f"<{name}{_attributes(attributes)}/>")


def ticks(low: float, high: float, about: int) -> list[float]:
    """Round numbers from `low` to `high`, about so many."""
    if not high > low:
        return [low]
    rough = (high - low) / max(about, 1)
    power = 10 ** math.floor(math.log10(rough))
    step = next(power * each for each in (1, 2, 5, 10) if power * each >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(each * step, 10) for each in range(first, last + 1)]


def wide(text: str, size: float = SIZE) -> float:
    """About how wide a line of words is."""
    return len(text) * size * LETTER


def _attributes(found: dict[str, str]) -> str:
    attributes = {name.replace("_", "-"): value for name, value in found.items()}
    return "".join(f" {name}={quoteattr(value)}" for name, value in attributes.items())


def _n(value: float) -> str:
    return number_text(value, 1).removesuffix(".0")
