"""Shipped knowledge as it was checked when the program was packed: no first run reads all YAML.

A wheel holds it beside the YAML files, and it counts only while these are what they were. The paths
of the files are put in when it is read. A checkout has none; there the user's cache does it alone.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import expert
from expert.cli.job.kept_form import FORM, read, written
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
        found = read((folder / name).read_bytes(), str(root))
    except Exception:  # whatever is wrong with it, it is made again
        return None
    return found if isinstance(found, kind) else None


def pack(what: object, files: Iterable[Path], more: Iterable[str]) -> None:
    """Write something that was made of shipped files, inside of `packing`."""
    assert _into is not None
    root = shipped(FOLDER).parent
    (_into / _name(type(what), files, more, root)).write_bytes(written(what, str(root)))


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
    digest = hashlib.sha256("\0".join((kind.__name__, expert.__version__, FORM, *texts)).encode())
    for path in files:
        digest.update(f"\0{path.relative_to(root).as_posix()}\0".encode())
        digest.update(path.read_bytes())
    return f"{digest.hexdigest()[:32]}{_SUFFIX}"
