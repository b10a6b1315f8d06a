"""The photos of a job as a report shows them: inside the page, as long as it stays sendable."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from expert.procedure.entries import Entry
from expert.procedure.photo_file import MOST_BYTES, media_type

MOST_ON_A_PAGE = 20_000_000  # bytes; larger mails are refused by many (common practice)


@dataclass(frozen=True)
class Photo:
    """A photo; `data` is a data: URI, or empty, and then `why_not` says why.

    `link` leads to the file where it was when it was entered.
    """

    entry: Entry
    caption: str
    link: str
    data: str = ""
    why_not: str = ""


def photos(entries: Iterable[Entry]) -> Iterator[Photo]:
    """The photos in their order; what would make the page too large is only linked."""
    room = MOST_ON_A_PAGE
    for entry in entries:
        path = Path(entry.text("path"))
        caption = entry.text("caption") or path.name
        link = path.as_uri() if path.is_absolute() else quote(entry.text("path"))
        content = _content(path)
        media = media_type(content)
        if not media:
            yield Photo(entry, caption, link, why_not="the file is not here now")
        elif hashlib.sha256(content).hexdigest() != entry.text("hash"):
            yield Photo(entry, caption, link, why_not="the file was changed since it was entered")
        elif len(content) > room:
            yield Photo(entry, caption, link, why_not="the page would become too large")
        else:
            room -= len(content)
            data = f"data:{media};base64,{base64.b64encode(content).decode()}"
            yield Photo(entry, caption, link, data)


def _content(path: Path) -> bytes:
    """The bytes of a file that is here and not too large, else none."""
    try:
        here = path.is_absolute() and path.stat().st_size <= MOST_BYTES
        return path.read_bytes() if here else b""
    except (OSError, ValueError):
        return b""
