"""Reads a log: a CSV file of any column names to arrays of SI numbers over time.

Python's csv module splits, and each text of a column is turned into a number once and then
looked up: a logger writes few different texts. That is quick enough for months of minutes and
needs no library that is not there already.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from operator import itemgetter
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from expert.errors import ReadingError, nearest
from expert.knowledge.judge import band_text
from expert.knowledge.log_map import LogColumn, LogMap
from expert.knowledge.model import Quantity
from expert.trend.dialect import Dialect, find_dialect
from expert.trend.stamps import StampReader

Numbers = NDArray[np.float64]
Key = tuple[str, str]  # subject, quantity
_ROWS = 512  # read at a time: few enough to stay in the processor's cache
_MANY = 200_000  # texts kept of a column, lest a log of many digits fills the memory


@dataclass
class LogTable:
    """A log in order of time. `seconds` since 1970 UTC; `columns` in SI by subject and quantity,
    choices by their place in the quantity's list, NaN where there is no value.

    `notes` say what was left out or put right.
    """

    seconds: Numbers
    columns: dict[Key, NDArray[np.float32]]
    notes: list[str] = field(default_factory=list)


class _Cells(dict[str, float]):
    """Texts of one column and what they mean; reads a text when it first comes."""

    def __init__(self, column: LogColumn, quantity: Quantity, decimal: str, none: frozenset[str]):
        super().__init__()
        self.column = column
        self.quantity = quantity
        self.decimal = decimal
        self.none = none
        self.impossible: dict[str, None] = {}
        self.choices = {choice: float(n) for n, choice in enumerate(quantity.choices)}

    def __missing__(self, text: str) -> float:
        if len(self) > _MANY:
            self.clear()
        value = self[text] = self._read(text.strip())
        return value

    def _read(self, text: str) -> float:
        if text.lower() in self.none:
            return math.nan
        if self.quantity.is_choice:
            return self.choices[self.column.words[self._word(text.lower())]]
        if self.decimal == ",":
            text = text.replace(".", "?").replace(",", ".")
        value = float(text.replace("_", "?")) * self.column.factor + self.column.offset
        low, high = self.quantity.refuse_below, self.quantity.refuse_above
        if (low is not None and value < low) or (high is not None and value > high):
            self.impossible[text] = None
            return math.nan
        if not math.isfinite(value):
            raise ValueError(text)
        return value

    def _word(self, text: str) -> str:
        """The word of the mapping; 1.0 is 1."""
        return text.removesuffix(".0") if text not in self.column.words else text

    def expected(self) -> str:
        """What may stand in this column."""
        if self.quantity.is_choice:
            return f"one of: {', '.join(self.column.words)}"
        unit = f" in {self.column.unit}" if self.column.unit else ""
        mark = "a decimal comma" if self.decimal == "," else "a decimal point"
        return f"a number{unit} with {mark}, or a word of 'no_value'"


def read_table(
    path: Path,
    log: LogMap,
    quantities: Mapping[str, Quantity],
    subjects: Sequence[str] | None = None,
) -> LogTable:
    """The columns that the mapping names, of all subjects or of some.

    A column of a subject that the mapping names itself must be there; one that a pattern met may
    be missing. Raises ReadingError with file, line and column.
    """
    dialect = find_dialect(path, log)
    wanted = [each for each in log.columns if subjects is None or each.subject in subjects]
    there = _there(path, dialect, wanted, log)
    cells = [_Cells(c, quantities[c.quantity], dialect.decimal, log.no_value) for c in there]
    clock = StampReader(log.zone, log.form)
    places = [dialect.header.index(c.column) for c in (there)]
    times = [dialect.header.index(name) for name in (log.time, log.clock) if name]
    stamps: list[Numbers] = []
    parts: list[list[NDArray[np.float32]]] = [[] for _ in there]
    short = 0
    for lines, rows in _blocks(path, dialect):
        width = max((*places, *times)) + 1
        for row in rows:
            if len(row) < width:
                short += 1
                row += [""] * (width - len(row))
        stamps.append(_stamps(path, clock, lines, _written(rows, times), log))
        texts = list(zip(*rows, strict=False))
        for part, place, known in zip(parts, places, cells, strict=True):
            part.append(_column(path, lines, texts[place], known))
    if not stamps:
        raise ReadingError(f"{path}: there are column names and no rows.")
    columns = {
        (c.subject, c.quantity): np.concatenate(part) for c, part in zip(there, parts, strict=True)
    }
    table = LogTable(np.concatenate(stamps), columns)
    _note(table, short, clock, cells)
    return _in_order(table)


def _there(
    path: Path, dialect: Dialect, wanted: Sequence[LogColumn], log: LogMap
) -> list[LogColumn]:
    """The columns that the file has. Raises ReadingError for one that must be there and is not."""
    found = []
    for column in wanted:
        count = dialect.header.count(column.column)
        if count > 1:
            raise ReadingError(
                f"{path}:{dialect.line}: the column '{column.column}' is there {count} times; "
                f"expected it once, for {column.quantity} of {column.subject}."
            )
        if count:
            found.append(column)
    missing = [each for each in wanted if each.named or not found]
    for column in (each for each in missing if each.column not in dialect.header):
        hint = nearest(column.column, dialect.header)
        known = f"The file has: {', '.join(dialect.header[:8])}."
        raise ReadingError(
            f"{path}:{dialect.line}: there is no column '{column.column}'; expected "
            f"{column.quantity} of {column.subject}, as the site file says under 'log'. "
            f"{hint or known}"
        )
    if not found:
        raise ReadingError(f"{path}: the site file maps no column for what was asked.")
    return found


def _blocks(path: Path, dialect: Dialect) -> Iterator[tuple[int, list[list[str]]]]:
    """Rows below the header, a block at a time, with the line of the block's first row."""
    with path.open(encoding=dialect.encoding, newline="") as file:
        for _ in range(dialect.line):
            next(file)
        reader = csv.reader(file, delimiter=dialect.separator)
        at = dialect.line + 1
        while True:
            try:
                raw = list(islice(reader, _ROWS))
            except csv.Error as error:
                line = dialect.line + reader.line_num
                raise ReadingError(f"{path}:{line}: this is no CSV: {error}.") from None
            if not raw:
                return
            rows = [row for row in raw if row]
            if rows:
                yield at, rows
            at = dialect.line + 1 + reader.line_num


def _written(rows: Sequence[Sequence[str]], places: Sequence[int]) -> list[str]:
    """The stamp of each row, from its column or from those of the date and of the time of day."""
    if len(places) == 1:
        return list(map(itemgetter(places[0]), rows))
    date, clock = places
    return [f"{row[date].strip()} {row[clock].strip()}" for row in rows]


def _stamps(path: Path, clock: StampReader, line: int, texts: list[str], log: LogMap) -> Numbers:
    found = np.empty(len(texts))
    for number, text in enumerate(texts):
        try:
            found[number] = clock.seconds(text.strip())
        except ValueError:
            form = {"iso": "as 2026-03-14 13:45:00"}.get(log.form, f"as '{log.form}'")
            raise ReadingError(
                f"{path}:{line + number}: column '{log.time}': '{text}' is no time stamp; "
                f"expected {form}. Tell the form in the site file, under 'time' of 'log'."
            ) from None
    return found


def _column(path: Path, line: int, texts: Sequence[str], known: _Cells) -> NDArray[np.float32]:
    try:
        return np.fromiter(map(known.__getitem__, texts), np.float32, len(texts))
    except (ValueError, KeyError):
        for number, text in enumerate(texts):
            try:
                known[text]
            except (ValueError, KeyError):
                hint = nearest(text.strip().lower(), (*known.column.words, *known.none))
                raise ReadingError(
                    f"{path}:{line + number}: column '{known.column.column}': '{text}' cannot be "
                    f"read; expected {known.expected()}. {hint}".rstrip()
                ) from None
        raise


def _note(table: LogTable, short: int, clock: StampReader, cells: Sequence[_Cells]) -> None:
    if short:
        table.notes.append(f"{short} rows end early; what is missing there is unknown.")
    if clock.skipped:
        table.notes.append(
            f"{clock.skipped} stamps lie in an hour that the clock of {clock.zone.key} skips; "
            "does the logger change its clock?"
        )
    for known in cells:
        if known.impossible:
            quantity, column = known.quantity, known.column
            most = 2 * len(known.impossible) > len(known)
            unit = f"; is {column.unit} its unit?" if most and column.unit else ""
            band = band_text(quantity.refuse_below, quantity.refuse_above, quantity.kind, "us")
            shown = ", ".join(list(known.impossible)[:3])
            table.notes.append(
                f"Column '{column.column}': values that cannot be ({shown} {column.unit}) count "
                f"as unknown; accepted: {band}{unit or '.'}"
            )


def _in_order(table: LogTable) -> LogTable:
    """Sorted by time, a stamp that comes again left out."""
    steps = np.diff(table.seconds)
    back = int((steps < 0).sum())
    if back:
        table.notes.append(f"{back} rows stood out of order of time and were put in order.")
    if back or (steps == 0).any():
        order = np.argsort(table.seconds, kind="stable")
        later = np.diff(table.seconds[order], prepend=-np.inf) > 0
        table.seconds = table.seconds[order][later]
        table.columns = {key: got[order][later] for key, got in table.columns.items()}
        if twice := int((~later).sum()):
            table.notes.append(f"{twice} rows repeat a time stamp; the first of each counts.")
    return table


def between(table: LogTable, since: float | None, until: float | None) -> LogTable:
    """The rows from `since` to before `until` [s since 1970 UTC]; None is no bound."""
    first, last = np.searchsorted(table.seconds, (since or -np.inf, until or np.inf))
    columns = {key: got[first:last] for key, got in table.columns.items()}
    return LogTable(table.seconds[first:last], columns, table.notes)
