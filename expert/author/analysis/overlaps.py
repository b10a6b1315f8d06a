"""Pairs of rules of which one fires whenever the other does, for the same or against each other."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import combinations, islice

from expert.author.search.solver import Assignment, Goal, Variable
from expert.author.search.subjects import contexts
from expert.author.search.witness import Witnesses
from expert.knowledge.model import Rule, Rulebase
from expert.knowledge.plants import applies_to
from expert.knowledge.site import Subject

MOST_BRANCHES = 64  # ways of one rule to fire; a rule with more is not compared


@dataclass(frozen=True)
class Overlap:
    """Two rules; whenever the first fires, the second does."""

    kind: str
    what: str
    rules: tuple[Rule, Rule]


def overlaps(finder: Witnesses, leave_out: Collection[str] = ()) -> Iterator[Overlap]:
    """Redundant, subsumed and conflicting pairs, in the order of the rules.

    Signs are taken as they are written, not followed to what concludes them.
    """
    rules = [rule for rule in finder.rulebase.rules.values() if rule.id not in leave_out]
    regions = _Regions(finder)
    for one, other in combinations(rules, 2):
        same, against = _shared(one, other)
        if not same and not against:
            continue
        forth, back = regions.inside(one, other), regions.inside(other, one)
        if not (forth or back):
            continue
        pair = (one, other) if forth else (other, one)
        if same:
            yield _same(pair, forth and back, same)
        if against:
            yield _conflict(pair, forth and back, against)


def _shared(one: Rule, other: Rule) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What both say alike (causes, signs), and the causes on which they are opposed."""
    same = [cause for cause in one.evidence_for if cause in other.evidence_for]
    same += [cause for cause in one.evidence_against if cause in other.evidence_against]
    same += [sign for sign in one.concludes if sign in other.concludes]
    against = [cause for cause in one.evidence_for if cause in other.evidence_against]
    against += [cause for cause in one.evidence_against if cause in other.evidence_for]
    return tuple(same), tuple(against)


def _same(pair: tuple[Rule, Rule], both: bool, shared: tuple[str, ...]) -> Overlap:
    one, other = pair
    names = ", ".join(f"'{name}'" for name in shared)
    signs = set(shared) <= set(one.concludes)
    effect = "the first adds nothing" if signs else "what they share is counted twice"
    if both:
        what = f"'{one.id}' and '{other.id}' fire on the same conditions, both on {names}: {effect}"
        return Overlap("redundant", what, pair)
    what = f"whenever '{one.id}' fires, '{other.id}' does, both on {names}: {effect}"
    return Overlap("subsumed", what, pair)


def _conflict(pair: tuple[Rule, Rule], both: bool, causes: tuple[str, ...]) -> Overlap:
    one, other = pair
    names = ", ".join(f"'{name}'" for name in causes)
    if both:
        what = f"'{one.id}' and '{other.id}' fire on the same conditions and are opposed on {names}"
    else:
        what = f"whenever '{one.id}' fires, '{other.id}' fires against it on {names}"
    return Overlap("conflict", what, pair)


class _Regions:
    """For each rule the assignments in which it fires, with signs as they are written."""

    def __init__(self, finder: Witnesses):
        self._finder = finder
        self._cached: dict[object, tuple[Assignment, ...] | None] = {}
        self._looks: dict[str, tuple[frozenset[Variable], ...]] = {}

    def inside(self, one: Rule, other: Rule) -> bool:
        """Whether the other fires wherever the one does, on every kind of subject."""
        own = frozenset[Variable]().union(*self._looked_at(one))
        if not any(looks <= own for looks in self._looked_at(other)):
            return False
        part = self._finder.joined((one, other))
        fires = False
        for subject in contexts([one], part):
            inner = self._assignments(one, part, subject)
            if inner is None:
                return False
            if not inner:  # on such a subject it never fires
                continue
            outer = (
                self._assignments(other, part, subject)
                if applies_to(other.applies, subject)
                else ()
            )
            if not outer or not all(
                any(_within(assignment, wide) for wide in outer) for assignment in inner
            ):
                return False
            fires = True
        return fires

    def _looked_at(self, rule: Rule) -> tuple[frozenset[Variable], ...]:
        """For each way of a rule to fire the variables it looks at; nothing for too many ways."""
        if rule.id not in self._looks:
            part = self._finder.closure.of(rule.id)
            tried = (self._assignments(rule, part, subject) for subject in contexts([rule], part))
            assignments = next((each for each in tried if each), ())
            self._looks[rule.id] = tuple(frozenset(assignment) for assignment in assignments)
        return self._looks[rule.id]

    def _assignments(
        self, rule: Rule, part: Rulebase, subject: Subject
    ) -> tuple[Assignment, ...] | None:
        space = self._finder.space(part, subject)
        key = (rule.id, id(space))
        if key not in self._cached:
            solver = self._finder.solver(part, subject, deep=False)
            assignments = tuple(islice(solver.assignments([Goal(rule, "true")]), MOST_BRANCHES + 1))
            whole = len(assignments) <= MOST_BRANCHES and not solver.gave_up
            self._cached[key] = assignments if whole else None
        return self._cached[key]


def _within(inner: Assignment, outer: Assignment) -> bool:
    return all(name in inner and inner[name] <= cells for name, cells in outer.items())
