"""A legend kept in a spreadsheet, as a CSV file: its header and its rows with their lines."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from expert.errors import ReadingError
from expert.knowledge.synonyms import plain_name
from expert.sites.site_roles import site_roles
from expert.text_files import encoding_of

_SEPARATORS = (",", ";", "\t", "|")
_LARGEST, _MOST_ROWS, _HEAD = 2_000_000, 2_000, 30
_UNIT = re.compile(r"[(\[]\s*(?P<in>[^)\]]*?)\s*[)\]]|,\s*(?P<after>\S+)$")
_DEGREE = str.maketrans({"\N{DEGREE SIGN}": "", "\N{MASCULINE ORDINAL INDICATOR}": ""})


@dataclass(frozen=True)
class LegendTable:
    """A table with the line of each row in its file."""

    path: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    def first(self, column: str) -> str:
        """The first cell of a column that holds something."""
        place = self.header.index(column)
        return next((row[place] for _, row in self.rows if row[place]), "")


def read_sheet(path: Path) -> LegendTable:
    """The table of a CSV file. Raises ReadingError with what is wrong with it."""
    try:
        if path.stat().st_size > _LARGEST:
            raise ReadingError(f"{path} is larger than {_LARGEST:,} bytes; no legend is.")
        text = path.read_bytes().decode(encoding_of(path))
    except OSError as error:
        raise ReadingError(f"Cannot read {path}: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ReadingError(f"{path} is no text; save the spreadsheet as CSV.") from None
    if "\0" in text:
        raise ReadingError(f"{path} is no text; save the spreadsheet as CSV (UTF-8).")
    lines = text.lstrip("\ufeff").splitlines()
    separator = max(_SEPARATORS, key=lambda each: sum(line.count(each) for line in lines[:_HEAD]))
    try:
        table = [(n, _cells(row)) for n, row in _numbered(lines, separator)]
    except csv.Error as error:
        raise ReadingError(f"{path} is no CSV file: {error}.") from None
    filled = [(n, row) for n, row in table if any(row)]
    best = max(filled[:_HEAD], key=lambda each: _known(each[1]), default=(0, ()))
    if len([cell for cell in best[1] if cell]) < 2:
        raise ReadingError(
            f"{path}: there is no line of column names, for example 'Circuit,Case,Defrost'."
        )
    header = tuple(_unlike(best[1]))
    rows = tuple((n, _fitted(row, len(header))) for n, row in filled if n > best[0])
    if not rows or len(rows) > _MOST_ROWS:
        what = "nothing stands below its column names" if not rows else f"it has {len(rows)} rows"
        raise ReadingError(f"{path}: {what}; expected a line for each circuit.")
    return LegendTable(str(path), header, rows)


def _numbered(lines: list[str], separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader((f"{line}\n" for line in lines), delimiter=separator)
    for row in reader:
        yield reader.line_num, row


def _cells(row: list[str]) -> tuple[str, ...]:
    return tuple(" ".join(cell.split()) for cell in row)


def _fitted(row: tuple[str, ...], width: int) -> tuple[str, ...]:
    return (*row, *[""] * width)[:width]


def _known(row: tuple[str, ...]) -> int:
    known = {name for names in site_roles().columns.values() for name in names}
    return sum(header_parts(cell)[0] in known for cell in row) * 100 + sum(map(bool, row))


def _unlike(row: tuple[str, ...]) -> Iterator[str]:
    """Column names, each another: an empty or repeated one gets its number."""
    seen: set[str] = set()
    for number, cell in enumerate(row, 1):
        name = cell if cell and cell not in seen else f"{cell or 'column'} {number}"
        seen.add(name)
        yield name


def header_parts(header: str) -> tuple[str, str]:
    """A header in small letters without its unit, and the unit."""
    text = header.translate(_DEGREE)
    found = _UNIT.search(text)
    unit = (found["in"] or found["after"] or "") if found else ""
    return plain_name(_UNIT.sub("", text)).strip(" .:"), unit.strip(" .")
