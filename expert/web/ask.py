"""A request after the guard has let it through, and the ways on which one can come."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from starlette.responses import Response

from expert.web.people import Person

if TYPE_CHECKING:
    from expert.web.service import Service

OPEN, SIGNED_IN = "open", "signed in"  # what a way can need besides a right
SMALL, LARGE = 256_000, 40_000_000  # bytes of a request: forms, and several photos (own choice)


@dataclass(frozen=True)
class Upload:
    """A file that was sent; its name is only shown."""

    name: str
    content: bytes


@dataclass(frozen=True)
class Ask:
    """What was asked: by whom, from where, with which words. `token` is that of the forms."""

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

    def text(self, name: str) -> str:
        """A field of the form, '' where it lacks."""
        values = self.form.get(name, ())
        return values[0].strip() if values else ""

    def wanted(self, name: str) -> str:
        """A word of the address, '' where it lacks."""
        return " ".join(self.query.get(name, "").split())

    @property
    def job(self) -> str:
        """The id of the job that the address names."""
        return self.path.get("job", "")


NOBODY = Person("", "read only")
Handler = Callable[["Service", Ask], Response]


@dataclass(frozen=True)
class Way:
    """An address with what one needs to go there: a right, SIGNED_IN, or OPEN for everybody."""

    path: str
    method: str
    needs: str
    handler: Handler
    body: int = SMALL
