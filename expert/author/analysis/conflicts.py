"""Rules that say the same, fight one another, can never fire, or fight the influences of the plant;
states that no rule looks at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from expert.author.analysis.against_influences import disagreements
from expert.author.analysis.overlaps import overlaps
from expert.author.analysis.state_gaps import state_gaps
from expert.author.search.case_text import case_text
from expert.author.search.solver import Assignment, Goal
from expert.author.search.subjects import contexts
from expert.author.search.witness import Witnesses, first_goals
from expert.errors import Place
from expert.knowledge.conditions import HasSign
from expert.knowledge.model import Rule, Rulebase

KINDS = ("unreachable", "redundant", "subsumed", "conflict", "gap", "influence")


@dataclass(frozen=True)
class Remark:
    """One thing the analysis found. `name` tells which: a rule, two rules, or a quantity with its
    state and limit. `witness` is the text of a file to run; empty if none was found. `others` are
    the places of the other rules concerned."""

    kind: str
    name: str
    what: str
    place: Place
    others: tuple[Place, ...] = ()
    witness: str = ""

    @property
    def id(self) -> str:
        """The name under which a rulebase can explain it."""
        return f"{self.kind} {self.name}"

    def __str__(self) -> str:
        return f"{self.place}: {self.kind}: {self.what}"


def analyse(rulebase: Rulebase, *, witnesses: bool = True) -> Iterator[Remark]:
    """Everything that looks wrong, rule by rule and then limit by limit.

    With `witnesses`, each with a case that was run, where one is found.
    """
    finder = Witnesses(rulebase)
    dead: set[str] = set()
    for rule in rulebase.rules.values():
        remark = _unreachable(rule, finder, witnesses)
        if remark is not None:
            dead.add(rule.id)
            yield remark
    for overlap in overlaps(finder, dead):
        text = finder.case(overlap.rules, overlap.what) if witnesses else ""
        one, other = overlap.rules
        name = f"{one.id}, {other.id}"
        yield Remark(overlap.kind, name, overlap.what, one.place, (other.place,), text)
    for gap in state_gaps(finder):
        text = gap.witness() if witnesses else ""
        yield Remark("gap", gap.name, gap.what, gap.limit.place, (), text)
    for each in disagreements(rulebase):
        here = each.rule or each.cause
        others = (each.cause.place,) if each.rule else ()
        yield Remark("influence", each.name, each.what, here.place, others)


def _unreachable(rule: Rule, finder: Witnesses, witnesses: bool) -> Remark | None:
    """Why a rule can never fire, with a case that comes as near as can be; or None."""
    part = finder.closure.of(rule.id)
    reported = False
    for subject in contexts([rule], part):
        reported = True
        solver = finder.solver(part, subject, deep=True)
        if next(solver.assignments([Goal(rule, "true")]), None) is not None or solver.gave_up:
            return None
    if not reported:
        return Remark("unreachable", rule.id, f"{rule.id}: nothing fits its 'applies:'", rule.place)
    number, near = _nearest(rule, finder)
    conditions = [*rule.when, *rule.unless]
    clash = conditions[number]
    what = f"{rule.id} can never fire: {_reason(rule, number, finder)}"
    text = ""
    if witnesses and near:
        text = near
    place = clash.place if clash.place.path else rule.place
    return Remark("unreachable", rule.id, what, place, (), text)


def _reason(rule: Rule, number: int, finder: Witnesses) -> str:
    conditions = [*rule.when, *rule.unless]
    clash = conditions[number]
    concluded = {sign for each in finder.rulebase.rules.values() for sign in each.concludes}
    if number >= len(rule.when):
        return f"'{clash}' under unless always holds where the conditions hold"
    if isinstance(clash, HasSign) and not clash.negated and clash.sign not in concluded:
        return f"no rule concludes '{clash.sign}'"
    if number == 0:
        return f"'{clash}' can never be known to hold"
    before = ", ".join(f"'{each}'" for each in conditions[:number])
    return f"'{clash}' cannot hold together with {before}"


def _nearest(rule: Rule, finder: Witnesses) -> tuple[int, str]:
    """The number of the condition at which it fails at the latest, and a case up to there."""
    part = finder.closure.of(rule.id)
    furthest, text = 0, ""
    for subject in islice(contexts([rule], part), 20):
        solver = finder.solver(part, subject, deep=True)
        assignment: Assignment = {}
        for number, goals in first_goals(rule):
            met = next(solver.assignments(goals), None)
            if met is None:
                if number >= furthest:
                    remark = f"{rule.id} stays silent here, with its first conditions met."
                    furthest, text = number, case_text(assignment, subject, solver.space, remark)
                break
            assignment = met
    return furthest, text
