"""A table that can be told on a screen, as CSV, as JSON and as HTML."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Cell = str | int | None


@dataclass(frozen=True)
class PrintedTable:
    """Rows under heads. A cell is a text, a count, or None where nothing is known.

    `units` holds the unit of a head whose counts are no mere counts. `says` is how to read it.
    """

    id: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    says: str = ""
    units: tuple[str, ...] = ()

    def unit(self, column: int) -> str:
        """The unit of a column, empty where it is a count or a text."""
        return self.units[column] if self.units else ""

    def documents(self) -> list[dict[str, object]]:
        """Each row as a JSON object; a number with a unit as value and unit."""
        names = [head.replace(" ", "_").replace("%", "percent") for head in self.heads]
        return [
            {
                name: {"value": cell, "unit": self.unit(number)}
                if self.unit(number) and isinstance(cell, int)
                else cell
                for number, (name, cell) in enumerate(zip(names, row, strict=True))
            }
            for row in self.rows
        ]


def cell_text(cell: Cell, unit: str = "") -> str:
    """A cell as text; '-' where nothing is known."""
    if cell is None:
        return "-"
    return f"{cell} {unit}" if unit and isinstance(cell, int) else str(cell)


def lines(table: PrintedTable, width: int, most: int | None = None) -> list[str]:
    """The rows in columns where they fit a width, else one line each as 'head value; ...'."""
    shown = table.rows if most is None else table.rows[:most]
    texts = [
        [cell_text(cell, table.unit(number)) for number, cell in enumerate(row)] for row in shown
    ]
    widths = [
        max(len(row[number]) for row in [list(table.heads), *texts])
        for number in range(len(table.heads))
    ]
    if sum(widths) + 2 * (len(widths) - 1) <= width:
        return [_columns(row, widths) for row in [table.heads, *texts]]
    return [
        "; ".join(
            text if number == 0 else f"{head} {text}"
            for number, (head, text) in enumerate(zip(table.heads, row, strict=True))
            if text
        )
        for row in texts
    ]


def _columns(row: Sequence[str], widths: Sequence[int]) -> str:
    cells = (cell.ljust(width) for cell, width in zip(row, widths, strict=True))
    return "  ".join(cells).rstrip()
