"""A file that is written whole or not at all."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

_WAYS_OUT = tuple(map(Path, ("/dev", "/dev/fd", "/proc/self/fd")))


def write_whole(path: Path, text: str | bytes, *, mode: int = 0o600) -> None:
    """Write a file, all of it or nothing of it, and its folder. Raises OSError.

    What was there before stays until the new text is on disk. No link that was put in the place of
    the draft is followed. A device or a pipe is written to as it stands: a file would take its
    place.
    """
    data = text if isinstance(text, bytes) else text.encode()
    if _leads_out(path):
        with path.open("wb") as out:
            out.write(data)
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}.part")
    draft.unlink(missing_ok=True)
    try:
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(draft, flags, mode), "wb") as file:
            file.write(data)
        draft.replace(path)
    except OSError:
        with suppress(OSError):  # a full disk is not to be kept full by it
            draft.unlink()
        raise


def _leads_out(path: Path) -> bool:
    """Whether it is a device, a pipe or another name of one's own output."""
    try:
        found = path.stat().st_mode
    except OSError:
        return False
    if path.absolute().parent in _WAYS_OUT:
        return not stat.S_ISDIR(found)
    return not (stat.S_ISREG(found) or stat.S_ISDIR(found))
