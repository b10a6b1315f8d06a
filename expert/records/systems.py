"""The refrigerant systems of a site: a rack each, with refrigerant, full charge and method."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from expert.errors import UsageError, nearest
from expert.knowledge.site import Site, Subject
from expert.physics.leak_law.rate import Method
from expert.records.amounts import exact_pounds
from expert.records.record_roles import RecordRoles

US, EU = "us", "eu"


@dataclass(frozen=True)
class System:
    """A rack as the leak rules see it; `full_charge` [lb] is None where the site file has none.

    `methods` is the site's method, or both where it names none; none under a law that knows no
    leak rate.
    """

    site: str
    id: str
    title: str
    refrigerant: str
    full_charge: Fraction | None
    methods: tuple[Method, ...]
    law: str = US

    @property
    def method_named(self) -> bool:
        """Whether the site file says which method counts."""
        return len(self.methods) == 1 or self.law == EU


def systems_of(site: Site, roles: RecordRoles) -> dict[str, System]:
    """The systems of a site by the id of their rack; suction groups of one rack hold one charge."""
    found = {}
    for subject in site.subjects.values():
        if subject.kind != "rack" or _head(subject, site) != subject.id:
            continue
        charge, method = (subject.values.get(name) for name in (roles.full_charge, roles.method))
        pounds = None
        if charge is not None and isinstance(charge.value, float | int):
            pounds = exact_pounds(charge.text, charge.value)
        stated = subject.values.get(roles.law)
        law = roles.laws.get(str(stated.value if stated else subject.fact("jurisdiction")), US)
        named = roles.methods.get(str(method.value)) if method is not None else None
        found[subject.id] = System(
            site.name, subject.id, subject.title, subject.facts.get("refrigerant", ""), pounds,
            () if law == EU else (Method(named),) if named else tuple(Method),
            law,
        )  # fmt: skip
    return found


def racks_of(site: Site) -> dict[str, str]:
    """The rack whose charge every part of a site holds: of a suction group the one it is on."""
    return {subject.id: _head(subject, site) for subject in site.subjects.values() if subject.rack}


def _head(subject: Subject, site: Site) -> str:
    rack = site.subjects[subject.rack]
    while (above := site.subjects.get(rack.part_of)) is not None and above.kind == "rack":
        rack = above
    return rack.id


def chosen(systems: dict[str, System], wanted: str | None) -> list[System]:
    """The system asked for, or all of them. Raises UsageError."""
    if wanted is None:
        return list(systems.values())
    by_id = {name.lower(): system for name, system in systems.items()}
    if (found := by_id.get(wanted.lower())) is None:
        hint = nearest(wanted, systems) or f"There are: {', '.join(systems) or 'none'}."
        raise UsageError(f"The site has no system '{wanted}'. {hint}")
    return [found]
