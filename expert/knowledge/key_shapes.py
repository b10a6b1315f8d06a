"""How a table of keys is written: a key with its form and what it is for, an entry of keys.

`form` names what stands behind a key (see `expert/author/files/schema_forms.py`); `says` is one
line for whoever fills it in.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class Key:
    """One key of an entry."""

    name: str
    form: str
    says: str
    required: bool = False


@dataclass(frozen=True)
class Shape:
    """One kind of entry: what it is called in messages, and its keys in their usual order."""

    what: str
    keys: tuple[Key, ...]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Every key that may stand here, in the usual order."""
        return tuple(key.name for key in self.keys)

    @cached_property
    def required(self) -> tuple[str, ...]:
        """The keys that may not be left out."""
        return tuple(key.name for key in self.keys if key.required)

    def says(self, name: str) -> str:
        """What a key is for, empty for a key that is not here."""
        return next((key.says for key in self.keys if key.name == name), "")


def shape(what: str, *keys: tuple[str, str, str]) -> Shape:
    """A shape from (name, form, what it is for); a name with '*' is required."""
    made = (Key(name.rstrip("*"), form, says, name.endswith("*")) for name, form, says in keys)
    return Shape(what, tuple(made))


SOURCE = ("source*", "source", "where it comes from, for example 'common practice'")
