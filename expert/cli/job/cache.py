"""Checked rules and checklists, kept between runs so that the first prompt comes quickly."""

from __future__ import annotations

import atexit
import gc
import hashlib
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from pickle import PicklingError
from typing import TypeVar

import expert
from expert.cli.job.kept_form import FORM, read, written
from expert.cli.job.shipped_kept import is_packing, pack, packed
from expert.user_folders import of_user

VARIABLE = "RACKWALK_NO_CACHE"
MOST = 24  # files; the oldest go
_SUFFIX = ".kept"

T = TypeVar("T")


def cached(kind: type[T], files: Iterable[Path], make: Callable[[], T], *more: str) -> T:
    """What `make` gives for some files, remembered while neither they nor the program change.

    `more` is text that the result depends on besides. Shipped files were made when the program was
    packed, where it was packed as a wheel. What is remembered besides lies in the user's own
    cache folder; where that cannot be used, or RACKWALK_NO_CACHE is set, `make` is called.
    """
    if os.environ.get(VARIABLE):
        return make()
    files = tuple(files)
    if is_packing():
        pack(made := make(), files, more)
        return made
    if (held := packed(kind, files, more)) is not None:
        return held
    try:
        path = _folder() / f"{_key(kind, files, more)}{_SUFFIX}"
    except OSError:
        return make()
    found = _read(path, kind)
    if found is None:
        found = make()
        if _later is None:
            _write(path, found)
        else:
            _later.append((path, found))
    return found


_later: list[tuple[Path, object]] | None = None  # what is still to be written, where that can wait


def write_later() -> None:
    """From now on what is made is written when `write_now` is called, at the latest at the end:
    somebody waits for the first prompt, and it is only for the next start.
    """
    global _later  # the loaders know nothing of it
    if _later is None:
        _later = []
        atexit.register(write_now)


def write_now() -> None:
    """Write what waits, once."""
    while _later:
        _write(*_later.pop())


@contextmanager
def uncollected() -> Iterator[None]:
    """No search for garbage inside: many objects are made there and all of them stay.

    They are then left out of every later search, which took 100 ms in the middle of a job.
    """
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.freeze()
            gc.enable()


def _folder() -> Path:
    return of_user("cache")


def _key(kind: type[object], files: Iterable[Path], more: Iterable[str]) -> str:
    """A name that changes with the contents and places of files and with the program."""
    digest = hashlib.sha256("\0".join((kind.__name__, _program(), *more)).encode())
    for path in files:
        digest.update(f"\0{path}\0".encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


@cache
def _program() -> str:
    """The version of the program and of Python; in a checkout, also when its files changed."""
    root = Path(expert.__file__).parent
    stamps: list[str] = []
    for folder in ("knowledge", "procedure", "units", "physics"):
        stamps += sorted(_stamps(root / folder))
    return "\n".join((expert.__version__, FORM, sys.version, str(root), *stamps))


def _stamps(folder: str | Path) -> Iterator[str]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if not entry.is_dir():
                yield f"{entry.path} {entry.stat().st_mtime_ns}"
            elif entry.name != "__pycache__":
                yield from _stamps(entry.path)


def _read(path: Path, kind: type[T]) -> T | None:
    try:
        # written by this program into the user's own folder, and never read from elsewhere
        found = read(path.read_bytes())
    except Exception:  # whatever is wrong with it, it is made again
        return None
    return found if isinstance(found, kind) else None


def _write(path: Path, found: object) -> None:
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        draft.write_bytes(written(found))
        draft.replace(path)
        kept = sorted(path.parent.glob(f"*{_SUFFIX}"), key=lambda each: each.stat().st_mtime)
        for old in kept[:-MOST]:
            old.unlink(missing_ok=True)
    except (OSError, PicklingError):
        with suppress(OSError):
            draft.unlink()
