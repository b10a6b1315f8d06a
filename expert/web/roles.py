"""Who may do what: a person who is signed in, the roles there are, the rights of each."""

from __future__ import annotations

from dataclasses import dataclass

from expert.errors import UsageError, nearest

DO, LOOK, RECORDS, AUDIT, PAIR = RIGHTS = ("do", "look", "records", "audit", "pair")
TECHNICIAN, LEAD, OFFICE, READ_ONLY = ("technician", "lead", "office", "read only")
ROLES: dict[str, frozenset[str]] = {
    TECHNICIAN: frozenset({DO, LOOK, RECORDS}),
    LEAD: frozenset(RIGHTS),
    OFFICE: frozenset({LOOK, RECORDS, AUDIT}),
    READ_ONLY: frozenset({LOOK}),
}
MOST_SIGNS = 80  # of a name (own choice)


@dataclass(frozen=True)
class Person:
    """Somebody who is signed in. `company` is whose jobs these are, '' where there is one only."""

    name: str
    role: str
    company: str = ""

    def may(self, right: str) -> bool:
        """Whether the role has a right."""
        return right in ROLES[self.role]


def role_named(text: str) -> str:
    """A role by its name, '-' or '_' for the space. Raises UsageError."""
    role = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    if role in ROLES:
        return role
    raise UsageError(f"There is no role '{text}'. {nearest(role, ROLES) or ', '.join(ROLES)}")


def name_of(text: str) -> str:
    """A name as it stands in entries; empty where it is none."""
    name = " ".join(text.split())
    return name if name.isprintable() and len(name) <= MOST_SIGNS else ""
