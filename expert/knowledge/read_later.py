"""An object of which some fields are read from where it is kept when one of them is asked for."""

from __future__ import annotations

from _thread import RLock
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

_REST = "_rest"
_lock = RLock()  # two threads may ask first


class ReadLater:
    """Base of such a class. `LATER` are the fields that need not be there at first."""

    LATER: ClassVar[tuple[str, ...]] = ()

    def __init_subclass__(cls) -> None:
        """A default in the class would be found before anything is read."""
        assert not any(hasattr(cls, name) for name in cls.LATER)

    def read_later(self, rest: Callable[[], Mapping[str, Any]]) -> None:
        """`rest` gives the fields that are not there yet."""
        self.__dict__[_REST] = rest

    def read_now(self) -> None:
        """Read them, if they were not read yet."""
        with _lock:
            if (rest := self.__dict__.get(_REST)) is not None:
                self.__dict__.update(rest())
                del self.__dict__[_REST]

    def __getstate__(self) -> dict[str, Any]:
        """All fields, for copies."""
        self.read_now()
        return self.__dict__

    if not TYPE_CHECKING:  # a checker knows the fields

        def __getattr__(self, name):
            if name in type(self).LATER:
                self.read_now()
                if name in self.__dict__:
                    return self.__dict__[name]
            raise AttributeError(f"'{type(self).__name__}' object has no attribute '{name}'")
