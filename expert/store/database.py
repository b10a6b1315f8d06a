"""What the store needs of a database; `sqlite.py` and `postgres.py` are the two there are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any, Protocol

Rows = list[tuple[Any, ...]]


class Writer(Protocol):
    """What can be changed."""

    def run(self, statement: str, values: Mapping[str, object] = ..., /) -> object:
        """One change, inside a transaction."""
        ...

    def run_many(self, statement: str, values: Iterable[Mapping[str, object]], /) -> object:
        """The same change with many values, inside a transaction."""
        ...


class Database(Writer, Protocol):
    """Statements with values by name (`:job`), one writer at a time, all or nothing.

    Every method raises StoreError with a sentence. `folder` is where reports lie beside the jobs,
    `read_only` says in a sentence why nothing can be kept, empty where it can.
    """

    name: str
    folder: Path
    read_only: str

    def rows(self, statement: str, values: Mapping[str, object] = ...) -> Rows:
        """What a query gives."""
        ...

    def transaction(self) -> AbstractContextManager[None]:
        """Everything inside is on disk together, or not at all; no other program writes then."""
        ...

    def check(self) -> Sequence[str]:
        """Everything that is wrong with the file, found by reading all of it."""
        ...

    def close(self) -> None:
        """Give everything back."""
        ...
