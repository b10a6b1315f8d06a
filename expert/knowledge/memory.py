"""What was read of files before, for a program that reads them again at every change.

One rule is changed in one file: everything else is the very same object as before, so that most of
a rulebase need not be read again, and what hangs on it can be told apart by identity.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from pathlib import Path
from typing import TypeVar, cast

T = TypeVar("T")


class Memory:
    """Results by what they were made of. What one whole reading does not ask for is forgotten."""

    def __init__(self) -> None:
        self._before: dict[Hashable, tuple[object, object]] = {}
        self._now: dict[Hashable, tuple[object, object]] = {}

    def begin(self) -> None:
        """A new reading of everything begins."""
        self._before, self._now = self._now, {}

    def of(
        self,
        what: str,
        given: object,
        make: Callable[[], T],
        when: Callable[[], bool] = lambda: True,
    ) -> T:
        """What `make` gives of an object, made once as long as it is that very object.

        It is remembered where `when` says so afterwards.
        """
        key = (what, id(given))  # the object is held here, so no other one gets its id
        found = self._now.get(key) or self._before.get(key) or (given, make())
        if when():
            self._now[key] = found
        return cast(T, found[1])

    def same(self, what: str, value: T) -> T:
        """The equal value of the reading before, else this one."""
        before = self._before.get(what, (None, None))[1]
        kept: T = value if before != value else before
        self._now[what] = (kept, kept)
        return kept

    def file(self, path: Path, read: Callable[[Path], T], *fuller: Callable[[Path], T]) -> T:
        """What `read` gives of a file, read again where its bytes changed.

        What one of `fuller` gave of it, which says more, will do where it is there.
        """
        try:
            contents = self.same(str(path), path.read_bytes())
        except OSError:
            return read(path)  # it says what is wrong
        for each in fuller:
            if self._holds(f"file by {each.__name__}", contents):
                read = each
        return self.of(f"file by {read.__name__}", contents, lambda: read(path))

    def _holds(self, what: str, given: object) -> bool:
        return any((what, id(given)) in held for held in (self._now, self._before))
