"""In what encoding a text file is written that somebody hands in from another program."""

from __future__ import annotations

import codecs
from pathlib import Path

_BLOCK = 1 << 20
# A shell or an editor of Windows may write UTF-16; both forms begin with a mark.
_MARKS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"),
          (codecs.BOM_UTF16_BE, "utf-16"))  # fmt: skip


def marked_encoding(path: Path) -> str:
    """What the mark at the beginning says, else UTF-8. Raises OSError."""
    with path.open("rb") as file:
        return _marked(file.read(4)) or "utf-8"


def encoding_of(path: Path) -> str:
    """The mark at the beginning, else UTF-8 where the whole file is that, else Windows-1252.

    Raises OSError.
    """
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        with path.open("rb") as file:
            block = file.read(_BLOCK)
            if name := _marked(block):
                return name
            while block:
                decoder.decode(block)
                block = file.read(_BLOCK)
            decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _marked(beginning: bytes) -> str:
    return next((name for mark, name in _MARKS if beginning.startswith(mark)), "")
