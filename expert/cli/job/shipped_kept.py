"""Shipped knowledge as it was checked when the program was packed: no first run reads all YAML.

A wheel holds it beside the YAML files, and it counts only while these are what they were. The paths
of the files are put in when it is read. A checkout has none; there the user's cache does it alone.
"""

from __future__ import annotations

import hashlib
import pickle
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import IO, TypeVar

import expert
from expert.places import shipped

FOLDER, _SUFFIX = "kept", ".kept"

T = TypeVar("T")
_into: Path | None = None  # where is packed, while it is


def packed(kind: type[T], files: Iterable[Path], more: Iterable[str]) -> T | None:
    """What was packed for some files, None where nothing was or they are not what they were."""
    folder = shipped(FOLDER)
    if not folder.is_dir():
        return None
    root = folder.parent
    try:
        name = _name(kind, files, more, root)
        with (folder / name).open("rb") as file:
            found = _KeptUnpickler(file, root).load()
    except Exception:  # whatever is wrong with it, it is made again
        return None
    return found if isinstance(found, kind) else None


def pack(what: object, files: Iterable[Path], more: Iterable[str]) -> None:
    """Write something that was made of shipped files, inside of `packing`."""
    assert _into is not None
    root = shipped(FOLDER).parent
    with (_into / _name(type(what), files, more, root)).open("wb") as file:
        _KeptPickler(file, root).dump(what)


def is_packing() -> bool:
    """Whether what is made is to be packed."""
    return _into is not None


@contextmanager
def packing(folder: Path) -> Iterator[None]:
    """Inside, what is made of shipped files is written into a folder."""
    global _into  # the loaders know nothing of packing
    folder.mkdir(parents=True, exist_ok=True)
    _into = folder
    try:
        yield
    finally:
        _into = None


def _name(kind: type[object], files: Iterable[Path], more: Iterable[str], root: Path) -> str:
    """A name that changes with contents, and not with where they lie. Raises ValueError for files
    that are not shipped.
    """
    texts = (text.replace(str(root), "") for text in more)
    digest = hashlib.sha256("\0".join((kind.__name__, expert.__version__, *texts)).encode())
    for path in files:
        digest.update(f"\0{path.relative_to(root).as_posix()}\0".encode())
        digest.update(path.read_bytes())
    return f"{digest.hexdigest()[:32]}{_SUFFIX}"


class _KeptPickler(pickle.Pickler):
    def __init__(self, file: IO[bytes], root: Path) -> None:
        super().__init__(file, protocol=5)
        self._root = f"{root}/"
        self._inside = cache(lambda path: path.removeprefix(self._root))

    def persistent_id(self, given: object) -> str | None:
        """A path of a shipped file without the folder in which it lies now."""
        is_path = isinstance(given, str) and given.startswith(self._root)
        return self._inside(given) if is_path else None


class _KeptUnpickler(pickle.Unpickler):
    def __init__(self, file: IO[bytes], root: Path) -> None:
        super().__init__(file)
        self._at = cache(lambda name: str(root / name))

    def persistent_load(self, name: str) -> str:
        """The path of a shipped file where it lies here."""
        return self._at(name)
