"""Which rules and limits hold on the subjects of many stores; what is alike is worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from expert.columns.batch import NOTHING, Flags, Floats, Ints
from expert.errors import RackwalkError
from expert.inference.truth import limit_for
from expert.knowledge.entry_model import Applies
from expert.knowledge.load_site import parse_site
from expert.knowledge.model import Limit, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Site, Subject


@dataclass(frozen=True)
class Placed:
    """The number of the kind of plant that a subject is, and what it is: a circuit, a rack."""

    plant: int
    kind: str


UNKNOWN = Placed(NOTHING, "")


@dataclass
class PlantKinds:
    """Kinds of plant by number: subjects on which the same rules and limits hold are of one.

    `limits` are those met so far; `limit_at` has for each kind the number of a quantity's limit.
    """

    rulebase: Rulebase
    subjects: list[Subject] = field(default_factory=list)
    limits: list[Limit] = field(default_factory=list)
    limit_at: list[Mapping[str, int]] = field(default_factory=list)
    _numbers: dict[object, int] = field(default_factory=dict)
    _limit_numbers: dict[int, int] = field(default_factory=dict)
    _sites: dict[str, Site | None] = field(default_factory=dict)
    _placed: dict[tuple[str, str], Placed] = field(default_factory=dict)
    _limits_of: dict[str, Ints] = field(default_factory=dict)
    _fitting: dict[object, Flags] = field(default_factory=dict)
    _edges: dict[str, Floats] = field(default_factory=dict)
    _groups: dict[str, list[Limit]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for limit in self.rulebase.limits:
            self._groups.setdefault(limit.quantity, []).append(limit)

    def placed(self, site_hash: str, text: str, subject: str) -> Placed:
        """What a subject of a site is; UNKNOWN where the site cannot be read with these rules."""
        key = (site_hash, subject)
        if key not in self._placed:
            site = self._site(site_hash, text)
            on = site.subjects.get(subject) if site else None
            self._placed[key] = Placed(self._number(on), on.kind) if on else UNKNOWN
        return self._placed[key]

    def _site(self, site_hash: str, text: str) -> Site | None:
        if site_hash not in self._sites:
            try:
                self._sites[site_hash] = parse_site(text, site_hash, self.rulebase)
            except RackwalkError:  # the engine says why
                self._sites[site_hash] = None
        return self._sites[site_hash]

    def _number(self, subject: Subject) -> int:
        own = tuple(map(id, subject.limits))
        key = (tuple(sorted(subject.facts.items())), subject.has, own)
        if key not in self._numbers:
            self._numbers[key] = len(self.subjects)
            self.subjects.append(subject)
            groups = self._groups | {each.quantity: [each] for each in subject.limits}
            found = (limit_for(name, group, subject) for name, group in groups.items())
            self.limit_at.append(
                {limit.quantity: self._limit_number(limit) for limit in found if limit is not None}
            )
        return self._numbers[key]

    def _limit_number(self, limit: Limit) -> int:
        number = self._limit_numbers.setdefault(id(limit), len(self.limits))
        if number == len(self.limits):
            self.limits.append(limit)
        return number

    def limits_of(self, quantity: str) -> Ints:
        """The number of a quantity's limit for each kind of plant, NOTHING where there is none."""
        kept = self._limits_of.get(quantity)
        if kept is None or len(kept) != len(self.limit_at):
            found = [each.get(quantity, NOTHING) for each in self.limit_at]
            kept = self._limits_of[quantity] = np.array(found, dtype=np.int64)
        return kept

    def fitting(self, applies: Applies) -> Flags:
        """For each kind of plant whether something that applies to some is for it."""
        key = tuple(sorted(applies.items()))
        kept = self._fitting.get(key)
        if kept is None or len(kept) != len(self.subjects):
            found = [applies_to(applies, each) for each in self.subjects]
            kept = self._fitting[key] = np.array(found, dtype=bool)
        return kept

    def edges(self, name: str) -> Floats:
        """An edge [SI] of each limit, NaN where it has none; the last is that of no limit."""
        kept = self._edges.get(name)
        if kept is None or len(kept) != len(self.limits) + 1:
            found = (getattr(limit, name) for limit in self.limits)
            edges = [*(np.nan if each is None else each for each in found), np.nan]
            kept = self._edges[name] = np.array(edges, dtype=float)
        return kept
