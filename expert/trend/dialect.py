"""How a CSV file is written: encoding, separator, decimal mark, and where its header stands."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from pathlib import Path

from expert.errors import ReadingError, nearest
from expert.knowledge.log_map import BY_ITSELF, DECIMALS, SEPARATORS, LogMap
from expert.text_files import encoding_of

_HEAD = 40  # lines searched for the header; some loggers write a few lines above it
_SAMPLE = 400  # lines looked at for the decimal mark
_COMMA = re.compile(r"[-+]?\d*,\d+")
_GROUP = re.compile(r"[-+]?\d{1,3}(,\d{3})+")
_POINT = re.compile(r"[-+]?\d*\.\d+")


@dataclass(frozen=True)
class Dialect:
    """How a file is written. `header` are its column names, which stand on line `line`."""

    encoding: str
    separator: str
    decimal: str
    header: tuple[str, ...]
    line: int


def find_dialect(path: Path, log: LogMap) -> Dialect:
    """The dialect of a file; what the mapping tells wins. Raises ReadingError."""
    try:
        encoding = encoding_of(path) if log.encoding == BY_ITSELF else log.encoding
        with path.open(encoding=encoding, newline="") as file:
            lines = [line for line, _ in zip(file, range(_SAMPLE), strict=False)]
    except OSError as error:
        raise ReadingError(f"Cannot read {path}: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ReadingError(
            f"{path}: it is not {encoding} text. Tell its encoding in the site file, "
            "under 'file' of 'log'."
        ) from None
    if not lines:
        raise ReadingError(f"{path}: the file is empty; expected a line of column names.")
    separators = (
        tuple(SEPARATORS.values()) if log.separator == BY_ITSELF else (SEPARATORS[log.separator],)
    )
    for number, line in enumerate(lines[:_HEAD], 1):
        for separator in separators:
            header = _split(line, separator)
            if log.time in header:
                _second(path, number, log.clock, header)
                decimal = DECIMALS.get(log.decimal) or _decimal(lines[number:], separator)
                return Dialect(encoding, separator, decimal, header, number)
    counts = {each: lines[0].count(each) for each in separators}
    names = _split(lines[0], max(counts, key=lambda each: counts[each]))
    hint = nearest(log.time, names) or f"Its first line has: {', '.join(names[:8])}."
    raise ReadingError(
        f"{path}:1: there is no column '{log.time}'; expected the column of time stamps that the "
        f"site file names under 'log'. {hint}"
    )


def _second(path: Path, line: int, clock: str, header: tuple[str, ...]) -> None:
    """Raises ReadingError where the column of the time of day is told and is not there."""
    if clock and clock not in header:
        hint = nearest(clock, header) or f"The file has: {', '.join(header[:8])}."
        raise ReadingError(
            f"{path}:{line}: there is no column '{clock}'; expected the column of the time of day "
            f"that the site file names as 'clock' under 'time' of 'log'. {hint}"
        )


def _split(line: str, separator: str) -> tuple[str, ...]:
    try:
        row = next(csv.reader([line.rstrip("\r\n")], delimiter=separator), [])
    except csv.Error:
        return ()
    return tuple(cell.strip() for cell in row)


def _decimal(lines: list[str], separator: str) -> str:
    cells = [cell for line in lines for cell in _split(line, separator)]
    if any(_POINT.fullmatch(cell) for cell in cells):
        return "."
    commas = [cell for cell in cells if _COMMA.fullmatch(cell)]
    return "," if any(not _GROUP.fullmatch(cell) for cell in commas) else "."
