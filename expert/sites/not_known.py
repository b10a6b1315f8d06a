"""What of a store is not known yet, and so which judgements it cannot have."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from expert.knowledge.model import Rulebase
from expert.knowledge.site import Site, Subject
from expert.sites.site_roles import LEVELS, values_of

CASE = "what kind of case it is"
DEFROST = "how it is defrosted"


@dataclass(frozen=True)
class Lacking:
    """What is not known of a rack or circuit, in words."""

    subject: Subject
    what: tuple[str, ...]


def not_known(site: Site, rulebase: Rulebase, *, every: bool = False) -> Iterator[Lacking]:
    """Each part of a store of which a usual value (or any) is not known, in the order of the site.

    What a circuit has from its rack is known.
    """
    for subject in site.subjects.values():
        if subject.kind not in LEVELS:
            continue
        lacking = []
        if subject.kind == "circuit":
            lacking += [CASE] * (not subject.fact("case_type"))
            lacking += [DEFROST] * (not subject.fact("defrost"))
        values = values_of(subject.kind, subject.facts, rulebase, every=every)
        lacking += [each.title for each in values if each.id not in subject.values]
        if lacking:
            yield Lacking(subject, tuple(lacking))
