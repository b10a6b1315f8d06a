"""A request as the pages see it, after the guard has let it through."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from expert.web.roles import Person


@dataclass(frozen=True)
class Upload:
    """A file that was sent; its name is only shown."""

    name: str
    content: bytes


@dataclass(frozen=True)
class PageRequest:
    """What was asked: by whom, from where, with which words.

    `token` is that of the forms; `paired` says that a code let the person in.
    """

    person: Person
    address: str
    token: str
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    form: Mapping[str, Sequence[str]] = field(default_factory=dict)
    files: Sequence[Upload] = ()
    document: object = None
    visit: str = ""
    secure: bool = False
    paired: bool = False

    def text(self, name: str) -> str:
        """A field of the form, '' where it lacks; a button's word wins over a field above it."""
        values = self.form.get(name, ())
        return values[-1].strip() if values else ""

    def wanted(self, name: str) -> str:
        """A word of the address, '' where it lacks."""
        return " ".join(self.query.get(name, "").split())

    @property
    def job(self) -> str:
        """The id of the job that the address names."""
        return self.path.get("job", "")


def whole_number(text: str) -> int:
    """A number that a page carries; 0 for anything else."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


NOBODY = Person("", "read only")
