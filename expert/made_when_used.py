"""Data classes whose methods are made when one of them is first used.

The standard decorator compiles about six methods for each class, half a millisecond, and a short
start uses a few of its hundred and more classes: making all of them took half of its imports. Here
the same decorator does the same work at the first use, also at that of `fields` or `replace`. For
modules that every start imports; elsewhere the standard one is as good.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

__all__ = ["altered", "dataclass"]

T = TypeVar("T")


def altered(given: T, **changes: Any) -> T:
    """What `dataclasses.replace` gives, in a fifth of the time: for classes that do nothing at
    their making, of which thousands are altered while all knowledge is read.
    """
    kind: Any = type(given)
    fields = kind.__dataclass_fields__
    found: T = object.__new__(kind)
    held = vars(found)
    held.update(vars(given))
    held.update(changes)
    for name in held.keys() - fields.keys():
        if name in changes:
            raise TypeError(f"{kind.__name__} has no field '{name}'")
        del held[name]  # what was worked out of the other one and is kept in it
    return found


if TYPE_CHECKING:
    from dataclasses import dataclass
else:
    from _thread import RLock
    from functools import partial

    _CALLED = ("__init__", "__repr__", "__eq__", "__hash__")
    _LOOKED_AT = ("__dataclass_fields__", "__dataclass_params__", "__match_args__")
    _COMPARED = ("__lt__", "__le__", "__gt__", "__ge__")
    _OF_CLASS = ("__dict__", "__weakref__")  # Python gives each class its own
    _lock = RLock()  # two threads may use a class first
    _waiting = {}  # what was written in a class, and how it is to be made

    def dataclass(cls=None, **wanted):
        """What `dataclasses.dataclass` is, done at the first use; takes `frozen` and `order`."""
        if cls is None:
            return partial(dataclass, **wanted)
        frozen = wanted.get("frozen", False)
        written = dict(vars(cls))
        called = _CALLED + _COMPARED * wanted.get("order", False)
        late = {name: _method(cls, name) for name in called}
        late |= {name: _MadeOnSight(cls, name) for name in _LOOKED_AT}
        if frozen:
            late |= _frozen(cls)
        else:
            late["__hash__"] = None
        for name in late.keys() - written.keys():
            setattr(cls, name, late[name])
        _waiting[cls] = written, wanted
        return cls

    def _make(cls):
        """Make a twin and put its methods in the place of what waits: never is one missing."""
        import dataclasses  # takes as long as ten classes, and `--help` needs none

        with _lock:
            if cls not in _waiting:
                return
            written, wanted = _waiting[cls]
            body = {name: each for name, each in written.items() if name not in _OF_CLASS}
            body["__qualname__"] = cls.__qualname__
            twin = type(cls)(cls.__name__, cls.__bases__, body)
            made = vars(dataclasses.dataclass(twin, **wanted))
            fields = [name for name, each in written.items() if isinstance(each, dataclasses.Field)]
            compared = _COMPARED * wanted.get("order", False)
            for name in (*fields, *_CALLED, *compared, *_LOOKED_AT):
                if name in made:
                    setattr(cls, name, made[name])
                else:  # a field whose default is made anew each time
                    delattr(cls, name)
            del _waiting[cls]

    def _method(cls, name):
        def first(self, *given, **named):
            _make(cls)
            return getattr(cls, name)(self, *given, **named)

        return first

    class _MadeOnSight:
        """An attribute of the class, there as soon as it is looked at."""

        def __init__(self, cls, name):
            self._cls, self._name = cls, name

        def __get__(self, instance, owner):
            _make(self._cls)
            return getattr(self._cls, self._name)

    def _frozen(cls):
        def refuse(self, name, what):
            if type(self) is cls or name in cls.__dataclass_fields__:
                from dataclasses import FrozenInstanceError

                raise FrozenInstanceError(f"cannot {what} field {name!r}")

        def assign(self, name, value):
            refuse(self, name, "assign to")
            super(cls, self).__setattr__(name, value)

        def delete(self, name):
            refuse(self, name, "delete")
            super(cls, self).__delattr__(name)

        return {"__setattr__": assign, "__delattr__": delete}
