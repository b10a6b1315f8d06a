"""What a sheet hands back: lines 'KEY: value at 11:42', or readings by their names."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from expert.errors import ReadingError
from expert.procedure.reading_time import without_time
from expert.text_files import encoding_of

MARK = "rackwalk sheet"
_LARGEST, _MOST = 500_000, 2_000
_OF_DAY = re.compile(r"^\d{1,2}:\d\d$")
_KEY = re.compile(r"^(?P<key>[a-z0-9][a-z0-9/@~#._%!A-Z-]*):\s+(?P<rest>\S.*)$")


@dataclass(frozen=True)
class SheetLine:
    """One line: the key of a step ('' where a reading is named), its value and its time."""

    text: str
    key: str
    value: str
    time: str

    @property
    def with_time(self) -> str:
        """The value as it is taken, its time behind it; on a sheet 13:13 is the time of day."""
        time = f"{self.time}:00" if self.key and _OF_DAY.match(self.time) else self.time
        return f"{self.value} at {time}" if time else self.value


def read_sheet_lines(path: Path) -> list[SheetLine]:
    """The lines of a file. Raises ReadingError for what is no text or holds nothing."""
    try:
        if path.stat().st_size > _LARGEST:
            raise ReadingError(f"{path} is larger than a sheet can be.")
        text = path.read_text(encoding=encoding_of(path))
    except OSError as error:
        raise ReadingError(f"Cannot read {path}: {error.strerror}.") from None
    except UnicodeDecodeError:
        raise ReadingError(f"{path} is no text of a sheet.") from None
    lines = [
        sheet_line(line)
        for line in text.splitlines()
        if line.strip() and not line.startswith((MARK, "#"))
    ]
    if not lines or len(lines) > _MOST or "\0" in text:
        raise ReadingError(f"{path} holds no readings; expected lines like 'head 215 at 11:42'.")
    return lines


def sheet_line(text: str) -> SheetLine:
    """A line in its parts."""
    cleaned = " ".join(text.split())
    match = _KEY.match(cleaned)
    value, time = without_time(match["rest"] if match else cleaned)
    return SheetLine(cleaned, match["key"] if match else "", value, time)
