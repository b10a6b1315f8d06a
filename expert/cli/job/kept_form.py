"""How checked knowledge is written into a file: pickled, and read in two parts where it can be.

Fields with their default are left out: they stand in the class, and reading takes less without.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable
from copyreg import __newobj__  # type: ignore[attr-defined]
from functools import cache
from io import BytesIO
from typing import Any
from zlib import crc32

from expert.knowledge.read_later import ReadLater

FORM = "3"  # of a file; what was written in another is made again
_SUM = 4  # bytes in front that tell whether all behind them is as it was written


def written(what: object, root: str = "") -> bytes:
    """Something as bytes; paths below `root` are kept without it."""
    file = BytesIO()
    writer = _KeptPickler(file, root)
    if isinstance(what, ReadLater):
        kind: Any = type(what)
        held, fields = what.__getstate__().copy(), kind.__dataclass_fields__
        every = {name: each for name, each in held.items() if name in fields}
        head = object.__new__(kind)
        head.__dict__.update({name: each for name, each in every.items() if name not in what.LATER})
        writer.dump(head)
        writer.dump({name: every[name] for name in what.LATER})
    else:
        writer.dump(what)
    data = file.getvalue()
    return crc32(data).to_bytes(_SUM, "big") + data


def read(data: bytes, root: str = "") -> object:
    """What was written, its paths below another root. Raises ValueError for a damaged file."""
    kept = memoryview(data)[_SUM:]
    if crc32(kept).to_bytes(_SUM, "big") != data[:_SUM]:
        raise ValueError("not as it was written")
    reader = _KeptUnpickler(BytesIO(kept), root)
    found: object = reader.load()
    if isinstance(found, ReadLater):
        found.read_later(reader.load)
    return found


class _KeptPickler(pickle.Pickler):
    def __init__(self, file: BytesIO, root: str) -> None:
        super().__init__(file, protocol=5)
        self._root = f"{root}/" if root else ""
        self._inside = cache(lambda path: path.removeprefix(self._root))

    def persistent_id(self, given: object) -> str | None:
        """A path of a shipped file without the folder in which it lies now."""
        is_path = self._root and isinstance(given, str) and given.startswith(self._root)
        return self._inside(given) if is_path else None

    def reducer_override(self, given: Any) -> Any:
        kind = type(given)
        if not hasattr(kind, "__dataclass_fields__"):
            return NotImplemented
        fields = kind.__dataclass_fields__  # not what was worked out of them and is kept beside
        state = {
            name: each
            for name, each in given.__dict__.copy().items()
            if name in fields and not _is_default(kind, name, each)
        }
        return __newobj__, (kind,), state


def _is_default(kind: type, name: str, value: object) -> bool:
    default = getattr(kind, name, NotImplemented)
    return default is value or (type(default) is type(value) and bool(default == value))


class _KeptUnpickler(pickle.Unpickler):
    def __init__(self, file: BytesIO, root: str) -> None:
        super().__init__(file)
        self._at: Callable[[str], str] = cache(lambda name: f"{root}/{name}")

    def persistent_load(self, name: str) -> str:
        """The path of a shipped file where it lies here."""
        return self._at(name)
