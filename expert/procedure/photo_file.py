"""Picture files that a technician names: checked by their first bytes, not by their ending.

Signatures: JPEG by ISO/IEC 10918-1 (start of image), PNG by ISO/IEC 15948, GIF by the GIF89a
specification, WebP by RFC 9649: what a browser shows without help.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from expert.errors import ReadingError
from expert.knowledge import judge
from expert.made_when_used import dataclass
from expert.procedure.active import Active
from expert.procedure.entries import Draft
from expert.user_folders import expanded

MOST_BYTES = 12_000_000  # common practice: a telephone's photo has 2 to 8 MB
_SIGNATURES = {
    "image/jpeg": (0, b"\xff\xd8\xff"),
    "image/png": (0, b"\x89PNG\r\n\x1a\n"),
    "image/gif": (0, b"GIF8"),
    "image/webp": (8, b"WEBP"),
}


@dataclass(frozen=True)
class PhotoFile:
    """A picture that was there when it was named; `media` is its type, `hash` its SHA-256."""

    path: str
    media: str
    hash: str


def media_type(content: bytes) -> str:
    """What sort of picture some bytes are, empty for none that a browser shows."""
    for media, (at, signature) in _SIGNATURES.items():
        if content[at : at + len(signature)] == signature:
            return media
    return ""


def photo_files(text: str, folder: Path | None = None) -> tuple[PhotoFile, ...]:
    """The pictures of a line of paths with ';' between, seen from a folder (or from here).

    Raises ReadingError for the first that is missing, too large or no picture; then none is taken.
    """
    paths = [part.strip().strip("'\"") for part in text.split(";")]
    named = [path for path in paths if path]
    if not named:
        raise ReadingError("No file is named. Type a path, or several with ';' between.")
    return tuple(_photo((folder or Path()) / expanded(path)) for path in named)


def photo_draft(active: Active | None, photo: PhotoFile, caption: str = "") -> Draft:
    """The entry of a photo, at a step or on the whole job; its caption may be empty."""
    data = {"path": photo.path, "media": photo.media, "hash": photo.hash}
    words = {"caption": judge.words(caption, "the caption")} if caption.strip() else {}
    on = {"subject": active.subject} if active and active.subject else {}
    return Draft("photo", active.key if active else "", {**data, **words, **on})


def _photo(path: Path) -> PhotoFile:
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise ReadingError(f"{path} is a folder. Name the picture in it.")
        if size > MOST_BYTES:
            raise ReadingError(
                f"{path} has {size / 1e6:.0f} MB; a photo may have {MOST_BYTES / 1e6:.0f} MB. "
                "Save it smaller and name that file."
            )
        content = path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ReadingError(f"The photo {path} cannot be read: {reason}.") from None
    if not (media := media_type(content)):
        raise ReadingError(
            f"{path} is no picture that a report can show. Save it as JPEG, PNG, GIF or WebP."
        )
    return PhotoFile(str(path.resolve()), media, hashlib.sha256(content).hexdigest())
