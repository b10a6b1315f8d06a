"""Finds what must be read for a rule to fire, or that nothing can make it fire.

A search over assignments: for every variable the cells it may still be in. Signs are followed
down to the rules that conclude them. Within one quantity this is exact; two quantities are bound
together only by comparisons of the same sum.

What must be read for a rule `when: [a is low, iced], unless: [b is high]` to fire, where the sign
`iced` is concluded by the rules R1 (c is high) and R2 (d is low):

    goals                          branches tried                assignment so far
    rule true                      one                           nothing
      a is low: true               a in {very low, low}          a
      iced: true                   R1 true, or R2 true           a, iced
        R1 first: c is high        c in {high, very high}        a, iced, c
      b is high: open              b in all but {high, ...}      a, iced, c, b   -> given out
        then R2:  d is low         d in {very low, low}          a, iced, d, b   -> given out

The goal with the fewest branches goes first; a branch whose cells leave none of those assigned
already is dropped with all that lies under it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from expert.author.search.cells import UNKNOWN, Cells, Space
from expert.knowledge.conditions import (
    Compare,
    Condition,
    Group,
    HasSign,
    InStage,
    Is,
    Over,
)
from expert.knowledge.model import Rule
from expert.knowledge.resolve import NUMBER_STATES
from expert.knowledge.strata import rules_by_sign

Want = Literal["true", "false", "open"]  # open: not true, that is false or unknown
Variable = tuple[str, str]  # where it is read ('' for the subject itself), and what
Assignment = Mapping[Variable, Cells]
YES, NO = "yes", "no"
_OPPOSITE: dict[Want, Want] = {"true": "false", "false": "true"}
_TRUTHS: dict[Want, Cells] = {
    "true": frozenset((YES,)), "false": frozenset((NO,)), "open": frozenset((NO, UNKNOWN)),
}  # fmt: skip


# A reading as left is one only beside readings as found, be they none.
_BOTH_STAGES: Assignment = {("as found", "stage"): frozenset((YES,))}


@dataclass(frozen=True)
class Goal:
    """Something that must come out: a condition, or a rule as a whole, at a place."""

    what: Condition | Rule
    want: Want
    where: str = ""


@dataclass(frozen=True)
class Branch:
    """One branch on the way to a goal: cells to be in, and goals that are left."""

    assignment: Assignment
    goals: tuple[Goal, ...] = ()


class Solver:
    """Searches assignments for goals.

    With `deep` signs are followed to the rules that conclude them; with `inside` (by itself with
    deep) conditions on other stages and subjects are taken apart, and else as they are written.
    """

    def __init__(
        self,
        space: Space,
        rules: Mapping[str, Rule],
        *,
        deep: bool,
        inside: bool | None = None,
        budget: int = 4000,
    ):
        self.space = space
        self.deep = deep
        self.inside = deep if inside is None else inside
        self.budget = budget
        self.gave_up = False
        self._steps = 0
        self._concluding = rules_by_sign(rules.values())

    def assignments(
        self, goals: Sequence[Goal], assignment: Assignment | None = None
    ) -> Iterator[Assignment]:
        """Every assignment that meets all goals. `gave_up` tells that the search was too long."""
        self._steps = 0
        self.gave_up = False
        yield from self._search(tuple(goals), assignment or {})

    def _search(self, goals: tuple[Goal, ...], assignment: Assignment) -> Iterator[Assignment]:
        self._steps += 1
        if self._steps > self.budget:
            self.gave_up = True
            return
        if not goals:
            yield assignment
            return
        # The goal with the fewest branches first: what cannot be is seen early.
        branches = [(goal, self._open_branches(goal, assignment)) for goal in goals]
        goal, chosen = min(branches, key=lambda pair: len(pair[1]))
        rest = tuple(each for each, _ in branches if each is not goal)
        for branch, met in chosen:
            yield from self._search((*branch.goals, *rest), met)
            if self.gave_up:
                return

    def _open_branches(self, goal: Goal, assignment: Assignment) -> list[tuple[Branch, Assignment]]:
        found = []
        for branch in self.branches(goal):
            met = self._meet(assignment, branch.assignment)
            if met is not None:
                found.append((branch, met))
        return found

    def _meet(self, one: Assignment, other: Assignment) -> Assignment | None:
        met = dict(one)
        for variable, cells in other.items():
            kept = cells & met[variable] if variable in met else cells
            if not kept:
                return None
            met[variable] = kept
        return met

    def branches(self, goal: Goal) -> Iterator[Branch]:
        """The branches that lead to one goal."""
        what = goal.what
        if isinstance(what, Rule):
            yield from self._rule(what, goal)
        elif isinstance(what, Group):
            yield from self._group(what, goal)
        elif isinstance(what, HasSign):
            yield from self._sign(what, goal)
        elif isinstance(what, Is | Compare):
            yield from self._literal(what, goal)
        elif isinstance(what, InStage) and self.inside:
            where = "" if what.stage == "as left" else "as found"
            for branch in self._members(what.members, goal.want, (where,), goal, "every"):
                yield branch if goal.want == "open" else Branch(_BOTH_STAGES, branch.goals)
        elif isinstance(what, Over) and self.inside:
            count = max(2, what.at_least)
            places = tuple(f"{what.kind} X{number}" for number in range(1, count + 1))
            yield from self._members(what.members, goal.want, places, goal, what.count)
        else:
            yield Branch({(goal.where, f"course {what}"): _TRUTHS[goal.want]})

    def _rule(self, rule: Rule, goal: Goal) -> Iterator[Branch]:
        where = goal.where
        if goal.want == "true":
            goals = [Goal(condition, "true", where) for condition in rule.when]
            goals += [Goal(condition, "open", where) for condition in rule.unless]
            yield Branch({}, tuple(goals))
            return
        for condition in rule.when:
            yield Branch({}, (Goal(condition, goal.want, where),))
        for condition in rule.unless:
            yield Branch({}, (Goal(condition, "true", where),))

    def _group(self, group: Group, goal: Goal) -> Iterator[Branch]:
        size = len(group.members)
        count = group.at_least if goal.want == "true" else size - group.at_least + 1
        for chosen in combinations(group.members, count):
            yield Branch({}, tuple(Goal(member, goal.want, goal.where) for member in chosen))

    def _sign(self, condition: HasSign, goal: Goal) -> Iterator[Branch]:
        """A sign is false only where every rule that concludes it is known not to fire."""
        rules = self._concluding.get(condition.sign, ())
        variable = ("", f"sign {condition.sign}")
        if condition.negated and goal.want == "open":  # true or unknown: known only to the engine
            if rules or not self.deep:
                yield Branch({variable: frozenset((YES, UNKNOWN))})
            return
        want: Want = _OPPOSITE[goal.want] if condition.negated else goal.want
        if not self.deep:
            yield Branch({variable: _TRUTHS[want]})
        elif want == "true":
            for rule in rules:
                yield Branch({variable: _TRUTHS[want]}, (Goal(rule, "true"),))
        else:
            yield Branch({variable: _TRUTHS[want]}, tuple(Goal(rule, want) for rule in rules))

    def _literal(self, condition: Is | Compare, goal: Goal) -> Iterator[Branch]:
        if isinstance(condition, Is) and condition.word == "too close to call":
            yield Branch({(goal.where, f"course {condition}"): _TRUTHS[goal.want]})
            return
        name, true, false = self.space.holds_in(condition)
        variable = (goal.where, name)
        blocks = self._blocks(condition)
        free = tuple(Goal(block, "open", goal.where) for block in blocks)
        if goal.want == "true":
            yield Branch({variable: true}, free)
        elif goal.want == "false":
            yield Branch({variable: false}, free)
        else:
            yield Branch({variable: self.space.cells(name) - true})
            for block in blocks:
                yield Branch({}, (Goal(block, "true", goal.where),))

    def _blocks(self, condition: Is | Compare) -> tuple[Condition, ...]:
        """What would keep the number of a condition from being judged."""
        if not isinstance(condition, Is) or condition.word not in NUMBER_STATES:
            return ()
        if self.space.rulebase.quantities[condition.quantity].is_choice:
            return ()
        limit = self.space.limits.get(condition.quantity)
        return limit.cannot_judge_when if limit else ()

    def _members(
        self,
        members: tuple[Condition, ...],
        want: Want,
        places: tuple[str, ...],
        goal: Goal,
        count: str,
    ) -> Iterator[Branch]:
        """Conditions at other places: all of them at all places, or one of them at none."""
        everywhere = want == "true"
        if count == "no":
            everywhere = not everywhere
        if everywhere:
            goals = [Goal(member, "true", place) for place in places for member in members]
            yield Branch({}, tuple(goals))
            return
        inner: Want = "open" if want == "open" else "false"
        for member in members:
            yield Branch({}, tuple(Goal(member, inner, place) for place in places))
