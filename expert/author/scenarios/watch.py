"""Runs something again whenever one of some files changes, by looking at their times."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from pathlib import Path

POLL = 0.05  # seconds between two looks, of about 2 ms each (own choice)


def stamps(folders: Iterable[Path]) -> dict[str, tuple[int, int]]:
    """Time and size of every YAML file in some folders; a file that goes is left out."""
    found: dict[str, tuple[int, int]] = {}
    for folder in folders:
        for path in sorted(folder.rglob("*.yaml")):
            try:
                status = path.stat()
            except OSError:  # an editor replaces files: gone for a moment
                continue
            found[str(path)] = (status.st_mtime_ns, status.st_size)
    return found


def watch(
    folders: Iterable[Path],
    run: Callable[[], int],
    announce: Callable[[str], None],
    sleep: Callable[[float], None] | None = None,
) -> int:
    """Run now and after every change, until interrupted; gives the last result."""
    kept = tuple(folders)
    seen = stamps(kept)
    result = run()
    announce(f"Watching {len(seen)} files; Ctrl-C ends.")
    try:
        while True:
            (sleep or time.sleep)(POLL)
            now = stamps(kept)
            if now == seen:
                continue
            changed = sorted(set(now.items()) ^ set(seen.items()))
            names = ", ".join(dict.fromkeys(Path(path).name for path, _ in changed))
            seen = now
            announce(f"Changed: {names}")
            result = run()
    except KeyboardInterrupt:
        return result
